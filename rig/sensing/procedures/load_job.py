"""Calibrate the load cell: known masses up and down, a minute of creep at the top. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Any, ClassVar, Final

from rig.errors import OutOfRange
from rig.sensing.calibrating import Fit, fit_as_needed, fit_line
from rig.sensing.calibrating.budget import Sure, budget
from rig.sensing.calibrating.contradictions import SMALL_PART, bend_is_best
from rig.sensing.calibrating.dead_bands import dead_bands
from rig.sensing.calibrating.findings import span_of
from rig.sensing.procedures.figure import deviations, directions
from rig.sensing.procedures.judging import look_over, parts_of, points_of
from rig.sensing.procedures.known import Known, mass, no_load
from rig.sensing.procedures.steps import Outcome, Step, Taken
from rig.sensing.sentences import Identity
from rig.setup import LoadCell, RigSetup
from rig.setup.finding import Finding

WATCH_S: Final = 60.0
CREEP_PART: Final = 0.001  # of the load in a minute; sound cells stay below a third (our choice)
LEAST_MASSES: Final = 2
LEAST_FOR_BEND: Final = 5  # different values, nothing included: three lie on some parabola always
_SURE: Final = 3.0


@dataclass(frozen=True)
class CreepFound(Finding):
    """How much a load seems to have grown while it lay still."""

    about: ClassVar[str] = "creep"
    load_g: float
    part: float
    part_sd: float
    watch_s: float

    @property
    def ok(self) -> bool:
        """Whether it is within the limit, as far as noise lets it be known."""
        return abs(self.part) <= CREEP_PART + _SURE * self.part_sd

    @property
    def says(self) -> str:
        """How much in what time."""
        return (
            f"{self.load_g:.5g} g that lay still read {100 * self.part:+.3f} % more after"
            f" {self.watch_s:.0f} s."
        )

    @property
    def do(self) -> str:
        """Warm, tight."""
        return "Switch the rig on ten minutes before class, and see that no glue or foam gives way."


@dataclass(frozen=True)
class Bends(Finding):
    """Whether the counts follow a bent curve, and by how much a straight line would miss it."""

    about: ClassVar[str] = "bend"
    by_g: float  # at the middle of the range, against the straight line through its ends
    span_g: float
    bent: bool

    @property
    def ok(self) -> bool:
        """Always: a bend is taken into the rig file."""
        return True

    @property
    def says(self) -> str:
        """Straight, or how bent."""
        if not self.bent:
            return "A straight line fits: the points do not ask for a bend."
        return (
            f"The cell bends by {abs(self.by_g):.3g} g in the middle of {self.span_g:.5g} g, clear"
            " of scatter: the rig file gets count_per_g2 as well."
        )

    @property
    def do(self) -> str:
        """Nothing."""
        return ""


class LoadJob:
    """See the module.

    Args:
        masses: at least two, in words that `known.mass` reads; sorted here.
        rounds: how many times up and down.
        creep: whether to watch the largest for a minute.

    Raises:
        OutOfRange: fewer than two different ones, or one that cannot be read.
    """

    kind = "load"
    channel = "load"

    def __init__(self, masses: Iterable[str], rounds: int = 1, creep: bool = True) -> None:
        knowns = sorted((mass(text) for text in masses), key=lambda known: known.value)
        if len({known.value for known in knowns if known.value}) < LEAST_MASSES:
            raise OutOfRange(
                "A calibration needs two different masses or more.",
                "Four or five, spread up to your largest load, are better.",
            )
        self.steps = tuple(_steps([k for k in knowns if k.value], rounds, creep))

    def known_from(self, step: Step, text: str) -> Known:
        """A mass in words. Raises OutOfRange."""
        return mass(text)

    def shows(self, raw: float, raw_sd: float, setup: RigSetup, identity: Identity | None) -> str:
        """Grams by the rig file as it is, and counts."""
        return self.grams(raw, raw_sd, setup, " so far")

    @staticmethod
    def grams(raw: float, raw_sd: float, setup: RigSetup, so_far: str) -> str:
        """A count in words; ± is two standard uncertainties of the reading."""
        grams, counts = setup.load.mass_g(raw), f"{raw:.0f} counts"
        if grams is None:
            return counts
        doubt_g = 2 * raw_sd / abs(setup.load.count_per_g)
        doubt = f" ± {doubt_g:.2g} g" if raw_sd else ""
        return f"{grams:.2f} g{doubt}{so_far} ({counts})"

    def outcome(
        self, taken: Sequence[Taken], setup: RigSetup, identity: Identity | None
    ) -> Outcome:
        """Zero and span with their uncertainty. Raises OutOfRange."""
        points = points_of(taken)
        line = fit_line(points)
        if not line.steady:
            raise OutOfRange(
                "The counts do not follow the load.",
                "Check the cell's four wires, and that the load rests on it alone.",
            )
        fit = _bent(line, taken) or line
        found = look_over(fit, taken, "g")
        sure = budget(fit, parts_of(taken), least=points[0].raw_sd or 0.0)
        findings: list[Finding] = [*found, _bends(fit)]
        findings += [creep for one in taken if (creep := _creep(one, fit))]
        cell = _cell(sure)
        rows = _rows(taken, fit)
        return Outcome(
            says=tuple(_says(sure, len(taken))),
            findings=tuple(findings),
            sets={"load": cell},
            rows=tuple(rows),
            figure=deviations(rows, "g"),
        )


def _steps(masses: Sequence[Known], rounds: int, creep: bool) -> Iterable[Step]:
    field = "on the cell now"
    yield Step("Take everything off the cell that does not stay there.", no_load())
    for turn in range(rounds):
        for known in masses:
            asks, watch_s = f"Put on {known.words} ({known.value:.6g} g in all).", 0.0
            if creep and not turn and known is masses[-1]:
                asks += " Then leave it alone for a minute: no hands, no steps beside the table."
                watch_s = WATCH_S
            yield Step(asks, known, field, watch_s)
        for known in reversed(masses[:-1]):
            yield Step(f"Take off until {known.words} is left.", known, field)
        yield Step("Take it all off again.", no_load())


def _bent(line: Fit, taken: Sequence[Taken]) -> Fit | None:
    """The parabola, where repeats demand it and nothing simpler explains the points.

    Simpler are doubts about the known values, and one of them that is wrong.
    """
    fit = fit_as_needed(line.points)
    different = len({point.known for point in line.points})
    if len(fit.inner) == 2 or different < LEAST_FOR_BEND:
        return None
    if dead_bands(line.points, "g") or not bend_is_best(line):
        return None
    bend = budget(fit, parts_of(taken))[2]
    per_g = abs(span_of(fit)) / (2 * fit.half)
    by_g = abs(fit.inner[2]) / per_g
    clear = abs(bend.value) > _SURE * bend.sd
    return fit if clear and by_g > SMALL_PART * 2 * fit.half else None


def _bends(fit: Fit) -> Bends:
    bent = len(fit.inner) == 3
    by_g = fit.inner[2] / (span_of(fit) / (2 * fit.half)) if bent else 0.0
    return Bends(by_g, 2 * fit.half, bent)


def _creep(one: Taken, fit: Fit) -> CreepFound | None:
    if one.watched is None or not one.known.value:
        return None
    early, later = one.watched.early, one.watched.later
    span_raw = fit.raw_at(one.known.value).value - fit.raw_at(0.0).value
    doubt = hypot(early.raw_sd, later.raw_sd) / abs(span_raw)
    part = (later.raw - early.raw) / span_raw
    watched_s = (later.to_ms - early.from_ms) / 1000
    return CreepFound(one.known.value, part, doubt, watched_s)


def _cell(sure: Sequence[Sure]) -> dict[str, Any]:
    """Keys of `[load]`, rounded far below their doubts."""
    zero, per_g = sure[0], sure[1]
    cell = LoadCell(
        zero_count=round(zero.value, 1),
        count_per_g=float(f"{per_g.value:.8g}"),
        count_per_g2=float(f"{sure[2].value:.6g}") if len(sure) > 2 else 0.0,
        zero_count_sd=float(f"{zero.wide_sd:.3g}"),
        count_per_g_sd=float(f"{per_g.wide_sd:.3g}"),
    )
    keys = cell.model_dump()
    if not cell.count_per_g2:
        keys["count_per_g2"] = None  # an old bend goes
    return keys


def _says(sure: Sequence[Sure], points: int) -> Iterable[str]:
    zero, per_g = sure[0], sure[1]
    part = 100 * per_g.half_95 / abs(per_g.value)
    yield f"1 g makes {per_g.value:.6g} ± {per_g.half_95:.2g} counts ({part:.2g} %)."
    yield f"Nothing on the cell reads {zero.value:.0f} ± {zero.half_95:.2g} counts."
    readings = 100 * per_g.from_repeats / abs(per_g.value)
    masses = 100 * per_g.from_known / abs(per_g.value)
    yield (
        f"From {points} points; ± is where the truth lies in 95 of 100 cases. Of the span, the"
        f" readings leave {readings:.2g} % open, the masses themselves {masses:.2g} %"
        " (standard uncertainties)."
    )


def _rows(taken: Sequence[Taken], fit: Fit) -> list[dict[str, Any]]:
    going = directions([one.known.value for one in taken])
    per_g = span_of(fit) / (2 * fit.half)
    rows = []
    for number, (one, way) in enumerate(zip(taken, going, strict=True), start=1):
        off_g = (one.reading.raw - fit.raw_at(one.known.value).value) / per_g
        rows.append(
            {
                "number": number,
                "words": one.known.words,
                "known": one.known.value,
                "known_sd": one.known.sd,
                "raw": one.reading.raw,
                "raw_sd": one.reading.raw_sd,
                "noise_sd": one.reading.noise_sd,
                "words_read": one.reading.words,
                "going": way,
                "off": off_g,
                "off_sd": one.reading.raw_sd / abs(per_g),
            }
        )
    return rows
