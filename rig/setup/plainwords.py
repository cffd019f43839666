"""What a checker or a parser says, put into words a teacher can follow, on one line."""

import re
from collections.abc import Mapping
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

_NUMBER = "this must be a number, such as 12.5, without quotation marks"
_WHOLE = "this must be a whole number, such as 12, without quotation marks"
_TEXT = 'this must be text between quotation marks, such as "Group 3"'
_SECTION = "this must be a section with a heading of its own"
_LIST = "this must be a list in square brackets"

_WORDS = {
    "bool_parsing": "this must be true or false",
    "bool_type": "this must be true or false",
    "dict_type": _SECTION,
    "enum": "this must be {expected}",
    "extra_forbidden": "there is no such key here",
    "finite_number": "this must be an ordinary number, not inf or nan",
    "float_parsing": _NUMBER,
    "float_type": _NUMBER,
    "greater_than": "this must be above {gt:g}",
    "greater_than_equal": "this must be {ge:g} or more",
    "int_from_float": _WHOLE,
    "int_parsing": _WHOLE,
    "int_parsing_size": "this number is too large",
    "int_type": _WHOLE,
    "less_than": "this must be below {lt:g}",
    "less_than_equal": "this must be {le:g} or less",
    "list_type": _LIST,
    "literal_error": "this must be {expected}",
    "mapping_type": _SECTION,
    "missing": "this is missing",
    "model_type": _SECTION,
    "string_too_long": "this may have {max_length} characters at most",
    "string_too_short": "this must not be empty",
    "string_type": _TEXT,
    "string_unicode": "this text holds a character that cannot be saved",
    "too_short": "there are {actual_length} here where {min_length} or more belong",
    "too_long": "there are {actual_length} numbers here where {max_length} belong",
    "tuple_type": _LIST,
    "value_error": "{error}",
}

# What the TOML parser of the standard library says, and what it mostly comes from.
_TOML = (
    ("Cannot overwrite", "this key is written twice"),
    ("Cannot declare", "this section is written twice"),
    ("Cannot mutate", "this section is written twice"),
    ("Cannot redefine", "this section is written twice"),
    ("Expected newline", "something is left over after the value (write 12.5, not 12,5)"),
    ("Expected '='", "a key needs = and a value after it"),
    ("Expected ']", "a heading or a list needs its closing square bracket"),
    ("Unclosed array", "a list needs a comma between its values and a closing square bracket"),
    ("Invalid value", "a value is missing or not understood (text needs quotation marks)"),
    ("Invalid initial character", "a key is written with a-z, 0-9, _ and -"),
    ("Invalid statement", "this is neither key = value nor a [heading]"),
    ("Illegal character '\\n'", "a text needs its closing quotation mark on the same line"),
    ("Illegal character", "a character that cannot be seen stands here; type the line again"),
    ("Unclosed inline table", "a { needs its closing }"),
    ("Unterminated string", "a text needs its closing quotation mark"),
    ("Expected \"'", "a text needs its closing quotation mark"),
    ("Unescaped '\\'", "write \\\\ for a backslash, or put the text between ' and '"),
)


def one_line(text: str, most: int = 120) -> str:
    """Return text on one line: nothing that breaks or disturbs it, and not too long."""
    flat = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return flat if len(flat) <= most else flat[: most - 3] + "..."


def first_trouble(err: ValidationError) -> tuple[tuple[str | int, ...], str]:
    """Return where to mend first and why: a misspelt key before the one it leaves missing."""
    troubles = err.errors(include_url=False)
    extra = next((t for t in troubles if t["type"] == "extra_forbidden"), None)
    trouble = extra or troubles[0]
    why = _words(trouble)
    if extra is not None:
        missing = [
            str(t["loc"][-1])
            for t in troubles
            if t["type"] == "missing" and t["loc"][:-1] == extra["loc"][:-1]
        ]
        for meant in get_close_matches(str(extra["loc"][-1]), missing, n=1):
            why += f"; did you mean {meant}?"
    return trouble["loc"], why.removesuffix("?").removesuffix(".")


def toml_trouble(message: str) -> tuple[int | None, str]:
    """Return the line a TOML parser names (None for the end of the file) and why."""
    at = re.search(r" \(at line (\d+), column \d+\)$", message)
    why = re.sub(r" \(at [^()]*\)$", "", message)
    words = next((words for start, words in _TOML if why.startswith(start)), why)
    return int(at[1]) if at else None, one_line(words)


def _words(trouble: "ErrorDetails") -> str:
    context: Mapping[str, Any] = trouble.get("ctx", {})
    template = _WORDS.get(trouble["type"])
    return template.format_map(context) if template else trouble["msg"]
