"""Read a TOML file; say in one line what is wrong with it, and on which line."""

import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from rig.errors import SetupInvalid
from rig.setup.plainwords import first_trouble, one_line, toml_trouble

Loc = Sequence[str | int]
M = TypeVar("M", bound=BaseModel)


def read_toml(path: Path) -> tuple[dict[str, Any], str]:
    """Return the parsed file and its text. Raises SetupInvalid."""
    try:
        text = path.read_text(encoding="utf-8-sig")  # some editors put a mark in front
    except OSError as err:
        raise SetupInvalid(
            f"Cannot read {one_line(str(path))}: {err.strerror}.",
            "Check the name and where the file is.",
        ) from err
    except UnicodeDecodeError as err:
        raise SetupInvalid(
            f"{one_line(path.name)} is not UTF-8 text.", "Save it as plain text, encoding UTF-8."
        ) from err
    try:
        return tomllib.loads(text), text
    except tomllib.TOMLDecodeError as err:
        line, why = toml_trouble(str(err))
    except RecursionError:
        line, why = None, "brackets stand inside brackets too many times"
    except ValueError:  # thousands of digits, more than Python will turn into a number
        line, why = None, "a number has too many digits"
    at = f"line {line}" if line else "at the end" if text else "empty file"
    raise SetupInvalid(f"{one_line(path.name)}, {at}: {why}.", "Mend that line and try again.")


def validated(
    model: type[M], data: Mapping[str, Any], where: str, text: str = "", at: Loc = ()
) -> M:
    """Return `data` as a model. Raises SetupInvalid, naming the key and, with `text`, its line.

    Args:
        where: what to call the file in the message.
        at: where in the file `data` stands.
    """
    try:
        return model.model_validate(data)
    except ValidationError as err:
        loc, why = first_trouble(err)
        raise bad_key(where, text, (*at, *loc), why) from err


def bad_key(where: str, text: str, loc: Loc, why: str) -> SetupInvalid:
    """Return the error for one key of a file."""
    line = _line_of(text, loc)
    what = ", ".join([where, *([f"line {line}"] if line else [])])
    return SetupInvalid(
        f"{one_line(what)}: {one_line(_spelled(loc))}: {one_line(why)}.", "Mend it and try again."
    )


def _spelled(loc: Loc) -> str:
    """`[load] count_per_g`, `[[boat]] 2 length_mm`, `[tub] pours row 3`."""
    if not loc:
        return "the file"
    if len(loc) > 1 and isinstance(loc[1], int):
        return " ".join([f"[[{loc[0]}]] {loc[1] + 1}", *map(str, loc[2:])])
    words, place = [f"[{loc[0]}]"], "row"
    for part in loc[1:]:
        if isinstance(part, int):
            words.append(f"{place} {part + 1}")
            place = "number"  # within the row
        else:
            words.append(part)
    return " ".join(words)


def _line_of(text: str, loc: Loc) -> int | None:
    """The line of a key, or of its section's heading; None when neither is written there."""
    if not text or not loc:
        return None
    nth = loc[1] if len(loc) > 1 and isinstance(loc[1], int) else 0
    key = next((part for part in loc[1:] if isinstance(part, str)), None)
    heading = re.compile(rf"\s*\[\[?\s*{re.escape(str(loc[0]))}\s*\]\]?")
    other = re.compile(r"\s*\[\[?[^\[\],]+\]\]?\s*(#.*)?$")  # a heading, not a row of a list
    alone = re.compile(rf"\s*[\"']?{re.escape(str(loc[0]))}[\"']?\s*[=.]")  # `key =` above headings
    found, seen, headed = None, -1, False
    for number, line in enumerate(text.splitlines(), start=1):
        if heading.match(line):
            seen, headed = seen + 1, True
            if seen == nth:
                found = number
        elif other.match(line):
            headed = True
            if seen == nth:
                break
        elif not headed and alone.match(line):
            found = number
            break
        elif seen == nth and key and re.match(rf"\s*[\"']?{re.escape(key)}[\"']?\s*=", line):
            return number
    return found
