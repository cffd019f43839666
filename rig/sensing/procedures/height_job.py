"""Calibrate a distance gauge: how high it hangs above the tub's floor, by known heights. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Any, ClassVar, Final

from rig.errors import OutOfRange
from rig.physics.air import speed_of_sound
from rig.sensing.calibrating import fit_line
from rig.sensing.calibrating.budget import Sure, budget
from rig.sensing.calibrating.findings import ZeroReturn
from rig.sensing.procedures.figure import deviations, directions
from rig.sensing.procedures.gauges import Gauge, number
from rig.sensing.procedures.judging import look_over, parts_of, points_of
from rig.sensing.procedures.known import Known, height
from rig.sensing.procedures.steps import Outcome, Step, Taken
from rig.sensing.sentences import Identity
from rig.setup import RigSetup
from rig.setup.finding import Finding

RULER_MM: Final = 0.5  # how far a reading of a ruler may be off (common practice, no source)
MOST_MM: Final = 5000.0
LEAST_HEIGHTS: Final = 2
SCALE_PART: Final = 0.01  # 1 % of a change of level is within what the lesson needs (our choice)
_SURE: Final = 3.0
_ASKS: Final = {
    "surface": "Let the water stand about {mm:g} mm above the tub's floor, wait until it is calm,"
    " and read the ruler.",
    "rim": "Hold something flat under the rim gauge (a flag on a block), about {mm:g} mm above the"
    " tub's floor, and read the ruler at its top.",
}


@dataclass(frozen=True)
class Scale(Finding):
    """Whether a millimetre on the ruler is one for the gauge."""

    about: ClassVar[str] = "scale"
    part: float  # what the gauge makes of 1
    part_sd: float
    right_at_c: float | None  # air at which an echo gauge would be right

    @property
    def ok(self) -> bool:
        """Within 1 %, or as far as the points tell it."""
        return abs(self.part - 1) <= max(SCALE_PART, _SURE * self.part_sd)

    @property
    def says(self) -> str:
        """What it makes of 100 mm."""
        return f"100 mm by the ruler are {100 * self.part:.1f} mm by the gauge."

    @property
    def do(self) -> str:
        """Air first, then tilt."""
        if self.right_at_c is not None:
            return (
                f"Measure the air at the gauge: it would fit {self.right_at_c:.0f} deg C. Then"
                " look whether the gauge hangs straight."
            )
        return "Look whether the gauge hangs straight and sees nothing but what it should."


class HeightJob:
    """See the module.

    Args:
        kind: "surface" or "rim".
        heights: about which heights [mm], two or more different ones.
        ruler_mm: how far the ruler may be off [mm].
        air_c: of the air in front of an echo gauge; the rig file's if None [deg C].
        down: whether to come back down as well.

    Raises:
        OutOfRange: fewer than two, or one that cannot be.
    """

    def __init__(
        self,
        kind: str,
        heights: Iterable[str],
        ruler_mm: float = RULER_MM,
        air_c: float | None = None,
        down: bool = True,
    ) -> None:
        self.kind = self.channel = kind
        self._ruler_mm, self._air_c = ruler_mm, air_c
        if not 0 < ruler_mm < MOST_MM:
            raise OutOfRange(f"A ruler cannot be off by {ruler_mm:g} mm.", "Give 0.5 or so.")
        if air_c is not None:
            speed_of_sound(air_c)  # raises where the formula ends
        up = sorted({number(text, "mm", MOST_MM) for text in heights})
        if len(up) < LEAST_HEIGHTS:
            raise OutOfRange(
                "A gauge needs two different heights or more.",
                "Take one near the lowest and one near the highest you will use.",
            )
        order = up + up[-2::-1] if down else up
        self.steps = tuple(
            Step(_ASKS[kind].format(mm=mm), height(mm, ruler_mm), "the ruler says, in mm")
            for mm in order
        )

    def known_from(self, step: Step, text: str) -> Known:
        """Millimetres. Raises OutOfRange."""
        return height(number(text, "mm", MOST_MM), self._ruler_mm)

    def shows(self, raw: float, raw_sd: float, setup: RigSetup, identity: Identity | None) -> str:
        """As `Gauge.shows`."""
        return self._gauge(setup, identity).shows(raw, raw_sd)

    def outcome(
        self, taken: Sequence[Taken], setup: RigSetup, identity: Identity | None
    ) -> Outcome:
        """The gauge's height with its uncertainty. Raises OutOfRange."""
        gauge = self._gauge(setup, identity)
        points = points_of(taken, gauge.distance_mm(1.0))
        fit = fit_line(points)
        # the lowest height is no zero to come back to
        found = [f for f in look_over(fit, taken, "mm") if not isinstance(f, ZeroReturn)]
        parts = parts_of(taken)
        heights_mm = [point.known + point.raw for point in points]
        hangs = _mean(heights_mm, max(sd for part in parts for _, sd in part.values()))
        scale = budget(fit, parts)[1]
        warm_c = _right_at_c(gauge.air_c, -scale.value) if gauge.unit == "us" else None
        findings = (*found, Scale(-scale.value, scale.sd, warm_c))
        rows = _rows(taken, heights_mm, hangs.value, gauge)
        keys: dict[str, Any] = {
            "height_mm": round(hangs.value, 2),
            "height_mm_sd": float(f"{hangs.wide_sd:.2g}"),
        }
        if gauge.unit == "us":
            keys["air_c"] = gauge.air_c
        return Outcome(
            says=(
                f"The gauge hangs {hangs.value:.1f} ± {hangs.half_95:.1f} mm above the tub's floor"
                f" ({len(points)} points; the truth lies there in 95 of 100 cases).",
            ),
            findings=findings,
            sets={self.kind: keys},
            rows=tuple(rows),
            figure=deviations(rows, "mm"),
        )

    def _gauge(self, setup: RigSetup, identity: Identity | None) -> Gauge:
        return Gauge.of(self.kind, setup, identity, self._air_c)


def _mean(values: Sequence[float], ruler_sd: float) -> Sure:
    """The mean; its scatter holds what each look at the ruler adds, not the ruler's own error."""
    n = len(values)
    if n < 2:
        raise OutOfRange("One reading does not tell its own scatter.", "Take another height.")
    mean = sum(values) / n
    variance = sum((value - mean) ** 2 for value in values) / (n - 1)
    from_repeats = sqrt(variance / n)
    combined = variance / n + ruler_sd**2
    dof = (n - 1) * combined**2 / from_repeats**4 if from_repeats > 1e-3 * ruler_sd else 1e6
    return Sure(mean, from_repeats, ruler_sd, min(1e6, dof))


def _right_at_c(air_c: float, scale: float) -> float | None:
    """The air in which the sound is as fast as the ruler says [deg C]; None outside 0 to 30."""
    wanted = speed_of_sound(air_c) / scale if scale > 0 else 0.0
    low, high = 0.0, 30.0
    if not speed_of_sound(low) <= wanted <= speed_of_sound(high):
        return None
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if speed_of_sound(middle) < wanted else (low, middle)
    return low


def _rows(
    taken: Sequence[Taken], heights_mm: Sequence[float], hangs_mm: float, gauge: Gauge
) -> list[dict[str, Any]]:
    going = directions([one.known.value for one in taken])
    rows = []
    for number_, (one, way, mm) in enumerate(zip(taken, going, heights_mm, strict=True), start=1):
        rows.append(
            {
                "number": number_,
                "words": one.known.words,
                "known": one.known.value,
                "known_sd": one.known.sd,
                "raw": one.reading.raw,
                "raw_sd": one.reading.raw_sd,
                "noise_sd": one.reading.noise_sd,
                "words_read": one.reading.words,
                "going": way,
                "off": hangs_mm - mm,  # the height read less the one known
                "off_sd": sqrt(gauge.distance_mm(one.reading.raw_sd) ** 2 + one.known.own_sd**2),
            }
        )
    return rows
