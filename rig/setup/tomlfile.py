"""Read a TOML file; say in one line what is wrong with it, and on which line."""

import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from rig.errors import SetupInvalid

Loc = Sequence[str | int]
M = TypeVar("M", bound=BaseModel)


def read_toml(path: Path) -> tuple[dict[str, Any], str]:
    """Return the parsed file and its text. Raises SetupInvalid."""
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as err:
        raise SetupInvalid(
            f"Cannot read {path}: {err.strerror}.", "Check the name and where the file is."
        ) from err
    except UnicodeDecodeError as err:
        raise SetupInvalid(f"{path} is not UTF-8 text.", "Save it as plain UTF-8 text.") from err
    try:
        return tomllib.loads(text), text
    except tomllib.TOMLDecodeError as err:
        raise SetupInvalid(f"{path}: {err}.", "Mend that line.") from err


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
        first = err.errors(include_url=False)[0]
        raise bad_key(
            where, text, (*at, *first["loc"]), _plain(first["type"], first["msg"])
        ) from err


def bad_key(where: str, text: str, loc: Loc, why: str) -> SetupInvalid:
    """Return the error for one key of a file."""
    line = _line_of(text, loc)
    return SetupInvalid(
        f"{where}{f', line {line}' if line else ''}: {_spelled(loc)}: {why}.",
        "Mend it and try again.",
    )


def _plain(kind: str, message: str) -> str:
    if kind == "missing":
        return "this is missing"
    if kind == "extra_forbidden":
        return "there is no such key here"
    return message.removeprefix("Value error, ").removesuffix(".")


def _spelled(loc: Loc) -> str:
    """`[load] count_per_g`, `[[boat]] 2 length_mm`."""
    if not loc:
        return "the file"
    if len(loc) > 1 and isinstance(loc[1], int):
        return f"[[{loc[0]}]] {loc[1] + 1} " + " ".join(str(part) for part in loc[2:])
    return f"[{loc[0]}] " + " ".join(
        f"row {part + 1}" if isinstance(part, int) else part for part in loc[1:]
    )


def _line_of(text: str, loc: Loc) -> int | None:
    """The line of a key, or of its section's heading; None when neither is written there."""
    if not text or not loc:
        return None
    nth = loc[1] if len(loc) > 1 and isinstance(loc[1], int) else 0
    key = next((part for part in loc[1:] if isinstance(part, str)), None)
    heading = re.compile(rf"\s*\[\[?\s*{re.escape(str(loc[0]))}\s*\]\]?")
    found, seen = None, -1
    for number, line in enumerate(text.splitlines(), start=1):
        if heading.match(line):
            seen += 1
            if seen == nth:
                found = number
        elif line.lstrip().startswith("["):
            if seen == nth:
                break
        elif seen == nth and key and re.match(rf"\s*[\"']?{re.escape(key)}[\"']?\s*=", line):
            return number
    return found
