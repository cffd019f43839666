"""The tub's level-volume table, from jugs poured in. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, sqrt
from statistics import fmean, median
from typing import Any, ClassVar, Final

import numpy as np

from rig.errors import OutOfRange
from rig.sensing.calibrating import Point
from rig.sensing.calibrating.budget import NORMAL_95
from rig.sensing.calibrating.dead_bands import dead_bands
from rig.sensing.procedures.figure import deviations
from rig.sensing.procedures.gauges import Gauge, number
from rig.sensing.procedures.known import Known, poured
from rig.sensing.procedures.steps import Outcome, Step, Taken
from rig.sensing.sentences import Identity
from rig.setup import RigSetup
from rig.setup.finding import Finding

MOST_ML: Final = 500_000.0
LEAST_POURS: Final = 3
AREA_PART: Final = 0.15  # a bin's walls lean, but the water's surface does not jump (our choice)
FLOOR_MM: Final = 1.0  # what an empty tub may read; more is a float at rest, or a wrong height
_SURE: Final = 3.0


@dataclass(frozen=True)
class AreaJump(Finding):
    """One pour raised the level by far more or less than its neighbours."""

    about: ClassVar[str] = "contradictory pour"
    from_ml: float
    to_ml: float
    area_cm2: float
    expected_cm2: float

    @property
    def ok(self) -> bool:
        """Never: it is only found where one jumps."""
        return False

    @property
    def says(self) -> str:
        """Which, and by how much."""
        return (
            f"Between {self.from_ml:g} and {self.to_ml:g} ml the water's surface would be"
            f" {self.area_cm2:.0f} cm2; the other pours say {self.expected_cm2:.0f} cm2."
        )

    @property
    def do(self) -> str:
        """A jug too many or too few."""
        return "Take this pour again: a jug was most likely missed, counted twice or not full."


@dataclass(frozen=True)
class FloorReads(Finding):
    """What the gauge makes of the empty tub."""

    about: ClassVar[str] = "empty tub"
    level_mm: float
    limit_mm: float

    @property
    def ok(self) -> bool:
        """Near the floor."""
        return abs(self.level_mm) <= self.limit_mm

    @property
    def says(self) -> str:
        """How high."""
        return f"The empty tub reads {self.level_mm:+.1f} mm."

    @property
    def do(self) -> str:
        """A float rests, or the height is wrong."""
        return (
            "A float that rests on the floor reads so, and the table then begins with the first"
            " pour; without one, calibrate the surface gauge first."
        )


class TubJob:
    """See the module.

    Args:
        jug_ml: what one jug holds [ml].
        jugs: after how many jugs in all to read the level, three or more, rising.
        off_ml: how far one jug may be off, each time alike [ml].

    Raises:
        OutOfRange: for other values.
    """

    kind = "tub"
    channel = "surface"

    def __init__(self, jug_ml: float, jugs: Sequence[float], off_ml: float) -> None:
        rising = all(0 < a < b for a, b in pairwise(jugs)) and all(j > 0 for j in jugs)
        if len(jugs) < LEAST_POURS or not rising:
            raise OutOfRange(
                "The tub's table needs three pours or more, each higher than the one before.",
                "Five or six up to the highest water you will use are better.",
            )
        if not (0 < jug_ml <= MOST_ML and 0 < off_ml < jug_ml):
            raise OutOfRange(
                f"A jug of {jug_ml:g} ml that may be off by {off_ml:g} ml cannot be.",
                "Give what it holds, and by how much it may be off, such as 1000 and 10.",
            )
        self._jug_ml, self._off_ml = jug_ml, off_ml
        field = "poured in all, in ml"
        steps = [Step("Empty the tub, and dry it.", poured(0, jug_ml, off_ml))]
        before = 0.0
        for count in jugs:
            more = count - before
            asks = (
                f"Pour in {_jugs(more)} of {jug_ml:g} ml ({count * jug_ml:g} ml in all), and wait"
                " until the water is calm."
            )
            steps.append(Step(asks, poured(count, jug_ml, off_ml), field))
            before = count
        self.steps = tuple(steps)

    def known_from(self, step: Step, text: str) -> Known:
        """Millilitres in all. Raises OutOfRange."""
        return poured(number(text, "ml", MOST_ML) / self._jug_ml, self._jug_ml, self._off_ml)

    def shows(self, raw: float, raw_sd: float, setup: RigSetup, identity: Identity | None) -> str:
        """As `Gauge.shows`."""
        return Gauge.of("surface", setup, identity).shows(raw, raw_sd)

    def outcome(
        self, taken: Sequence[Taken], setup: RigSetup, identity: Identity | None
    ) -> Outcome:
        """The table. Raises OutOfRange for too few pours, or without a surface gauge."""
        gauge = Gauge.of("surface", setup, identity)
        if gauge.height_mm is None:
            raise OutOfRange("The rig file has no [surface].", "Calibrate the surface gauge first.")
        rows = _levels(taken, gauge, gauge.height_mm)
        if len(rows) < LEAST_POURS:
            raise OutOfRange(
                f"{len(rows)} readings make no table.", "Go on with the next pour, three at least."
            )
        findings: list[Finding] = []
        if rows[0]["known"] == 0:
            limit_mm = FLOOR_MM + _SURE * gauge.height_mm_sd
            floor = FloorReads(rows[0]["level_mm"], limit_mm)
            findings.append(floor)
            if floor.ok:
                rows[0]["level_mm"] = 0.0  # the floor is where levels are counted from
            else:
                rows = rows[1:]
        points = [Point(row["known"], row["level_mm"], row["level_mm_sd"]) for row in rows]
        bands = dead_bands(points, "ml")
        findings += bands
        rising = all(a.raw < b.raw and a.known < b.known for a, b in pairwise(points))
        if rising:
            jump = None if bands else _jump(points, self._off_ml)
            findings += [jump] if jump else []
        table = [[round(row["level_mm"], 2), round(row["known"], 1)] for row in rows]
        _deviations(rows)
        return Outcome(
            says=tuple(_says(rows, taken, rising)),
            findings=tuple(findings),
            sets={"tub": {"pours": table, "area_mm2": None}} if rising else {},
            rows=tuple(rows),
            figure=deviations(rows, "ml"),
        )


def _jugs(count: float) -> str:
    return "1 jug" if count == 1 else f"{count:g} jugs"


def _levels(taken: Sequence[Taken], gauge: Gauge, height_mm: float) -> list[dict[str, Any]]:
    return [
        {
            "number": number_,
            "words": one.known.words,
            "known": one.known.value,
            "known_sd": one.known.sd,
            "raw": one.reading.raw,
            "raw_sd": one.reading.raw_sd,
            "noise_sd": one.reading.noise_sd,
            "words_read": one.reading.words,
            "going": "up",
            "level_mm": height_mm - gauge.distance_mm(one.reading.raw),
            "level_mm_sd": gauge.distance_mm(one.reading.raw_sd),
        }
        for number_, one in enumerate(taken, start=1)
    ]


def _jump(points: Sequence[Point], off_ml: float) -> AreaJump | None:
    """The pour whose surface lies furthest from what all others lead to expect."""
    spans = list(pairwise(points))
    areas = [1000 * (b.known - a.known) / (b.raw - a.raw) for a, b in spans]
    worst: AreaJump | None = None
    most = 1.0
    for i, ((a, b), area) in enumerate(zip(spans, areas, strict=True)):
        expected = _expected([(p.raw + q.raw) / 2 for p, q in spans], areas, i)
        step_mm, step_ml = 1000 * (b.known - a.known) / expected, b.known - a.known
        doubt = hypot(hypot(a.raw_sd or 0.0, b.raw_sd or 0.0) / step_mm, off_ml / sqrt(3) / step_ml)
        off = abs(expected / area - 1) / (AREA_PART + _SURE * doubt)
        if off > most:
            most = off
            worst = AreaJump(a.known, b.known, area / 100, expected / 100)
    return worst


def _expected(levels: Sequence[float], areas: Sequence[float], left_out: int) -> float:
    """The surface at one pour by the others: their trend, or with few their median [mm2]."""
    others = [i for i in range(len(areas)) if i != left_out]
    middle = median(areas[i] for i in others)
    if len(others) < 4:
        return middle
    slopes = [
        (areas[j] - areas[i]) / (levels[j] - levels[i])
        for n, i in enumerate(others)
        for j in others[n + 1 :]
    ]
    slope = median(slopes)
    offset = median(areas[i] - slope * levels[i] for i in others)
    expected = offset + slope * levels[left_out]
    return expected if expected > 0 else middle


def _deviations(rows: list[dict[str, Any]]) -> None:
    """What each pour is off a smooth tub, a parabola of volume over level, for the plot [ml]."""
    levels = np.array([row["level_mm"] for row in rows])
    volumes = np.array([row["known"] for row in rows])
    size = 2 if len(rows) > 3 else 1
    curve = np.polyfit(levels, volumes, size)
    per_mm = np.polyval(np.polyder(curve), levels)
    for row, off, slope in zip(rows, np.polyval(curve, levels) - volumes, per_mm, strict=True):
        row["off"] = float(off)
        row["off_sd"] = abs(float(slope)) * float(row["level_mm_sd"])


def _says(rows: Sequence[dict[str, Any]], taken: Sequence[Taken], rising: bool) -> list[str]:
    low, high = rows[0], rows[-1]
    doubt_ml = NORMAL_95 * taken[-1].known.sd
    lines = [
        f"{len(rows)} rows, {low['level_mm']:.1f} to {high['level_mm']:.1f} mm,"
        f" {low['known']:g} to {high['known']:g} ± {doubt_ml:.2g} ml."
    ]
    if not rising:
        return [*lines, "The level does not rise with each pour: no table can be made of that."]
    areas = [
        10 * (b["known"] - a["known"]) / (b["level_mm"] - a["level_mm"]) for a, b in pairwise(rows)
    ]
    noise_mm = fmean(row["level_mm_sd"] for row in rows)
    return [
        *lines,
        f"The water's surface is {areas[0]:.0f} cm2 low down and {areas[-1]:.0f} cm2 high up; a"
        f" level is read to ± {NORMAL_95 * noise_mm:.2g} mm.",
    ]
