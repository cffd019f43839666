"""Which procedure, from plain values: what a command line, a page or a recording says. Pure."""

import json
from collections.abc import Mapping, Sequence
from math import isfinite
from typing import Any, Final

from rig.errors import OutOfRange
from rig.sensing.procedures.brimful_job import BrimfulJob
from rig.sensing.procedures.check_job import CheckJob
from rig.sensing.procedures.height_job import RULER_MM, HeightJob
from rig.sensing.procedures.load_job import LoadJob
from rig.sensing.procedures.steps import Job
from rig.sensing.procedures.tub_job import TubJob

KINDS: Final = ("load", "surface", "rim", "tub", "check", "brimful")
MOST_STEPS: Final = 40
MOST_TEXT: Final = 1200  # letters that a recording's mark holds with room to spare


def make_job(kind: str, options: Mapping[str, Any]) -> Job:
    """Return the job of a kind.

    Args:
        kind: one of `KINDS`.
        options: load: `masses` (words), `rounds`, `creep`; surface, rim: `heights` (words or
            numbers, mm), `ruler_mm`, `air_c`, `down`; tub: `jug_ml`, `off_ml`, `jugs`; check:
            `mass`. All but the first of each may be left out.

    Raises:
        OutOfRange: what is no such job, in words for a person.
    """
    match kind:
        case "load":
            rounds = _number(options, "rounds", 1, 5)
            job: Job = LoadJob(
                _texts(options, "masses"), round(rounds), bool(options.get("creep", True))
            )
        case "surface" | "rim":
            air = options.get("air_c")
            job = HeightJob(
                kind,
                _texts(options, "heights"),
                _number(options, "ruler_mm", RULER_MM),
                None if air in (None, "") else _number(options, "air_c", 20.0),
                bool(options.get("down", True)),
            )
        case "tub":
            jug_ml = _number(options, "jug_ml", 0.0)
            jugs = [_as_number(text, "jugs") for text in _texts(options, "jugs")]
            job = TubJob(jug_ml, jugs, _number(options, "off_ml", jug_ml / 100))
        case "check":
            job = CheckJob(str(options.get("mass", "")))
        case "brimful":
            cup = options.get("cup_ml") not in (None, "")
            off = options.get("cup_off_ml") not in (None, "")
            water = options.get("water_c") not in (None, "")
            job = BrimfulJob(
                _number(options, "cup_ml", 0.0) if cup else None,
                _number(options, "cup_off_ml", 0.0) if off else None,
                _number(options, "water_c", 20.0) if water else None,
            )
        case _:
            raise OutOfRange(f'There is no "{kind}" to do.', f"Choose one of: {', '.join(KINDS)}.")
    if len(json.dumps(dict(options), ensure_ascii=False)) > MOST_TEXT:
        raise OutOfRange("What you typed is too long to be kept.", "Take fewer values at a time.")
    if len(job.steps) > MOST_STEPS:
        raise OutOfRange(
            f"{len(job.steps)} steps are too many for one go.",
            f"Take fewer values: {MOST_STEPS} steps at most.",
        )
    return job


def _texts(options: Mapping[str, Any], key: str) -> list[str]:
    value = options.get(key, [])
    listed: Sequence[Any] = value.split(";") if isinstance(value, str) else value
    if not isinstance(listed, (list, tuple)):
        raise OutOfRange(f"{key} is no list.", "Give values, with ; between them.")
    return [str(one).strip() for one in listed if str(one).strip()]


def _number(options: Mapping[str, Any], key: str, default: float, most: float = 1e6) -> float:
    value = options.get(key)
    number = default if value in (None, "") else _as_number(value, key)
    if number > most:
        raise OutOfRange(f"{key} = {number:g} is too much.", f"Give {most:g} at most.")
    return number


def _as_number(value: Any, key: str) -> float:
    try:
        number = float(str(value).strip().replace(",", "."))
    except ValueError:
        number = float("nan")
    if not isfinite(number) or isinstance(value, bool):
        raise OutOfRange(f'{key} = "{value}" is no number.', "Give one such as 10.")
    return number
