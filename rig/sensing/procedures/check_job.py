"""Check the scale before class with one known mass: right, repeatable, at corners, still. Pure."""

from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import sqrt
from typing import Final

from rig.errors import OutOfRange
from rig.physics.error_bands import interval_at_least, interval_at_most, largest_error_g
from rig.sensing.procedures.check_findings import (
    Corner,
    CreepsLittle,
    KnownWell,
    MassRight,
    OneItem,
    Repeats,
    ZeroBack,
)
from rig.sensing.procedures.known import Known, mass, no_load
from rig.sensing.procedures.load_job import WATCH_S, LoadJob
from rig.sensing.procedures.steps import Outcome, Step, Taken
from rig.sensing.sentences import Identity
from rig.setup import RigSetup
from rig.setup.finding import Finding

WEIGHINGS: Final = 3
CORNERS: Final = ("front left", "front right", "back right", "back left")
# A scale interval of ten standard deviations of a steady reading, so that noise alone passes no
# band; and of half an item at most, so that an error of one miscounts nothing (our choice).
NOISES: Final = 10.0
ITEM_PART: Final = 0.5


class CheckJob:
    """See the module.

    Args:
        text: the known mass, as `known.mass` reads it; about a third of the largest load.

    Raises:
        OutOfRange: no such mass.
    """

    kind = "check"
    channel = "load"

    def __init__(self, text: str) -> None:
        self._mass = mass(text)
        if not self._mass.value:
            raise OutOfRange("A check needs a known mass.", "Take about a third of your largest.")
        self.steps = tuple(_steps(self._mass))

    def known_from(self, step: Step, text: str) -> Known:
        """The mass cannot change half way. Raises OutOfRange."""
        raise OutOfRange("There is nothing to type here.", "Leave the field empty.")

    def shows(self, raw: float, raw_sd: float, setup: RigSetup, identity: Identity | None) -> str:
        """Grams."""
        return LoadJob.grams(raw, raw_sd, setup, "")

    def outcome(
        self, taken: Sequence[Taken], setup: RigSetup, identity: Identity | None
    ) -> Outcome:
        """The verdict, part by part; parts not yet done are left out. Raises OutOfRange."""
        per_g = abs(setup.load.count_per_g)
        centre = _weighings(taken, setup)
        if not centre:
            raise OutOfRange("The mass has not been weighed yet.", "Do the first steps.")
        noise_g = max(one.reading.raw_sd for one in taken) / per_g
        e_g = interval(noise_g, setup.item.mass_g if setup.item else None)
        known = self._mass
        limit_g = largest_error_g(known.value, e_g)
        mean_g = sum(centre) / len(centre)
        judged: list[MassRight | Repeats | Corner | CreepsLittle | ZeroBack] = [
            MassRight(mean_g - known.value, limit_g, known.value)
        ]
        if len(centre) > 1:
            judged.append(Repeats(max(centre) - min(centre), limit_g, len(centre)))
        judged += _corners(taken, setup, mean_g, limit_g)
        judged += _creep(taken, per_g * _sign(setup), e_g)
        judged += _zero(taken, per_g * _sign(setup), e_g)
        findings: list[Finding] = [
            KnownWell(known.sd * sqrt(3), limit_g / 3, known.value),
            *judged,
        ]
        if setup.item:
            worst = max(judged, key=lambda one: abs(one.off_g))
            item = setup.item
            noise = 2 * noise_g
            findings.append(OneItem(item.name, item.mass_g, abs(worst.off_g), worst.about, noise))
        return Outcome(
            says=(
                f"Scale interval e = {e_g:g} g; allowed at {known.value:.6g} g: {limit_g:.3g} g.",
                _verdict(findings),
            ),
            findings=tuple(findings),
            rows=tuple(_rows(taken, setup)),
        )


def interval(noise_g: float, item_g: float | None) -> float:
    """Return the scale interval e to judge by [g].

    The coarser of what the noise allows and what the lesson needs: finer would judge noise, or
    ask for what nobody needs.

    Args:
        noise_g: standard deviation of a steady reading [g].
        item_g: mass of one item [g]; None without.
    """
    by_noise = interval_at_least(max(NOISES * noise_g, 1e-6))
    return by_noise if item_g is None else max(by_noise, interval_at_most(ITEM_PART * item_g))


def _steps(known: Known) -> Iterable[Step]:
    empty = "Take everything off the cell that does not stay there."
    for turn in range(WEIGHINGS):
        yield Step(empty, no_load())
        asks = f"Put {known.words} {'again ' if turn else ''}in the middle"
        asks += "." if turn else ", and leave it alone for a minute."
        watch_s = 0.0 if turn else WATCH_S
        yield Step(asks, known, place="in the middle", watch_s=watch_s)
    for place in CORNERS:
        yield Step(
            f"Move it half way to the {place} corner.", known, place=f"at the {place} corner"
        )
    yield Step(empty, no_load())


def _sign(setup: RigSetup) -> float:
    return 1.0 if setup.load.count_per_g > 0 else -1.0


def _grams(one: Taken, setup: RigSetup) -> float:
    grams = setup.load.mass_g(one.reading.raw)
    if grams is None:
        raise OutOfRange("The rig file's bend never comes to this count.", "Calibrate the scale.")
    return grams


def _weighings(taken: Sequence[Taken], setup: RigSetup) -> list[float]:
    """The mass in the middle, each time less the zero just before."""
    pairs = pairwise(taken)
    return [
        _grams(on, setup) - _grams(off, setup)
        for off, on in pairs
        if not off.known.value and on.step.place == "in the middle"
    ]


def _corners(
    taken: Sequence[Taken], setup: RigSetup, mean_g: float, limit_g: float
) -> Iterable[Corner]:
    zeros = [_grams(one, setup) for one in taken[: 2 * WEIGHINGS] if not one.known.value]
    zero_g = zeros[-1]
    for one in taken:
        for corner in CORNERS:
            if one.step.place == f"at the {corner} corner":
                off_g = _grams(one, setup) - zero_g - mean_g
                yield Corner(off_g, limit_g, f"{corner} corner")


def _creep(taken: Sequence[Taken], per_g: float, e_g: float) -> Iterable[CreepsLittle]:
    for one in taken:
        if one.watched is not None:
            off_g = (one.watched.later.raw - one.watched.early.raw) / per_g
            yield CreepsLittle(off_g, e_g / 2, one.step.watch_s)


def _zero(taken: Sequence[Taken], per_g: float, e_g: float) -> Iterable[ZeroBack]:
    first, last = taken[0], taken[-1]
    if len(taken) > 2 * WEIGHINGS and not last.known.value:
        yield ZeroBack((last.reading.raw - first.reading.raw) / per_g, e_g / 2)


def _verdict(findings: Sequence[Finding]) -> str:
    to_mend = [finding.about for finding in findings if not finding.ok]
    if not to_mend:
        return "The scale is right for class."
    return f"To mend before class: {', '.join(dict.fromkeys(to_mend))}."


def _rows(taken: Sequence[Taken], setup: RigSetup) -> Iterable[dict[str, object]]:
    for number, one in enumerate(taken, start=1):
        yield {
            "number": number,
            "words": f"{one.known.words} {one.step.place}".strip(),
            "known": one.known.value,
            "known_sd": one.known.sd,
            "raw": one.reading.raw,
            "raw_sd": one.reading.raw_sd,
            "noise_sd": one.reading.noise_sd,
            "words_read": one.reading.words,
            "later_raw": one.watched.later.raw if one.watched else None,
            "reads_g": _grams(one, setup),
        }
