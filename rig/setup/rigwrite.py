"""Write new values into a rig file, keeping the teacher's comments and a dated copy of the old."""

import os
from collections.abc import Mapping
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Table

from rig.errors import RecordsUnusable, SetupInvalid
from rig.setup.rigfile import RigSetup
from rig.setup.tomlfile import read_toml, validated

Sets = Mapping[str, Mapping[str, Any]]


def lines_for(sets: Sets) -> str:
    """Return the sections as text to paste into a rig file."""
    return tomlkit.dumps(_into(tomlkit.document(), sets)).strip() + "\n"


def with_sets(setup: RigSetup, sets: Sets) -> RigSetup:
    """Return a set-up with these values. Raises SetupInvalid where they do not fit it."""
    data = setup.model_dump(exclude_none=True)
    for name, keys in sets.items():
        section = {**data.get(name, {}), **keys}
        data[name] = {key: value for key, value in section.items() if value is not None}
    return validated(RigSetup, data, "The calibration")


def write_sets(path: Path, sets: Sets, at: datetime) -> tuple[RigSetup, Path]:
    """Put values into a rig file; return the set-up it now says, and the copy of the old file.

    All or nothing: the new text is checked first, written beside and then put in place.

    Args:
        sets: section -> key -> value; None takes a key out.
        at: the time in the copy's name.

    Raises:
        SetupInvalid: the file cannot be read, or would not be right afterwards.
        RecordsUnusable: it cannot be written.
    """
    read_toml(path)
    try:
        text = path.read_bytes().decode("utf-8-sig")  # with the line ends it has
        new = tomlkit.dumps(_into(tomlkit.parse(text), sets))
    except TOMLKitError as err:
        raise SetupInvalid(
            f"{path.name} is written in a way that cannot be changed by program.",
            "Paste the lines printed above by hand.",
        ) from err
    fresh = path.with_name(f".{path.name}.new")
    try:
        with open(fresh, "w", encoding="utf-8", newline="") as file:
            file.write(new)
            file.flush()
            os.fsync(file.fileno())
        data, _ = read_toml(fresh)
        setup = validated(RigSetup, data, path.name, new)
        copy = _kept_copy(path, at)
        os.replace(fresh, path)
    except OSError as err:
        raise RecordsUnusable(
            f"Cannot write {path}: {err.strerror}.", "Check who owns the file and its folder."
        ) from err
    finally:
        with suppress(OSError):
            fresh.unlink()
    return setup, copy


def _kept_copy(path: Path, at: datetime) -> Path:
    """The old file under a name with the time; an earlier copy is never written over."""
    for more in range(1000):
        tail = f"-{more}" if more else ""
        copy = path.with_name(f"{path.stem}-before-{at:%Y-%m-%dT%H-%M-%S}{tail}{path.suffix}")
        with suppress(FileExistsError), open(copy, "xb") as file:
            file.write(path.read_bytes())
            os.fsync(file.fileno())
            return copy
    raise OSError(17, "too many copies of that second")


def _into(document: tomlkit.TOMLDocument, sets: Sets) -> tomlkit.TOMLDocument:
    for name, keys in sets.items():
        if name not in document:
            document[name] = tomlkit.table()
        section = document[name]
        assert isinstance(section, (Table, dict)), "a rig file that was read has tables there"
        for key, value in keys.items():
            if value is None:
                if key in section:
                    del section[key]
            elif isinstance(value, list):
                section[key] = _rows(value)
            else:
                section[key] = value
    return document


def _rows(values: list[Any]) -> Any:
    """One row a line."""
    rows = tomlkit.array()
    rows.extend(values)
    return rows.multiline(True)
