"""What all calibrations share: a look at the points, in words. Pure."""

from collections.abc import Sequence
from math import sqrt
from statistics import fmean

from rig.errors import OutOfRange
from rig.sensing.calibrating import Fit, Point, findings
from rig.sensing.calibrating.budget import SURE, Parts, offset_of
from rig.sensing.calibrating.contradictions import SMALL_PART, do_not_fit, swapped, wrong_value
from rig.sensing.calibrating.dead_bands import dead_bands
from rig.sensing.calibrating.findings import Hysteresis, PointOff, TurnsBack
from rig.sensing.procedures.known import counted
from rig.sensing.procedures.steps import Taken
from rig.setup.finding import Finding


def points_of(taken: Sequence[Taken], per_raw: float = 1.0) -> list[Point]:
    """Return the points in the order taken; all with the same noise, so that all count alike.

    Args:
        per_raw: of the unit to fit in, for one raw unit. A known value that is read anew each time
            (a ruler) must be in that unit: its doubt is a reading's as well.
    """
    if not taken:
        raise OutOfRange("Nothing has been read yet.", "Do the first steps.")
    noise = sqrt(fmean((one.reading.raw_sd * per_raw) ** 2 + one.known.own_sd**2 for one in taken))
    return [Point(one.known.value, one.reading.raw * per_raw, noise) for one in taken]


def parts_of(taken: Sequence[Taken]) -> list[dict[str, tuple[float, float]]]:
    """Return each point's pieces, for the budget."""
    return [
        {piece.name: (count, piece.sd) for piece, count in counted(one.known.parts) if piece.sd}
        for one in taken
    ]


def look_over(fit: Fit, taken: Sequence[Taken], unit: str) -> list[Finding]:
    """Return what the points show. The strongest contradiction speaks, its echoes do not."""
    parts = parts_of(taken)
    exchanged = swapped(fit, [one.known.sd for one in taken], unit)
    if exchanged is not None:
        return [exchanged]
    dead = dead_bands(fit.points, unit)
    wrong = None if dead else wrong_value(fit, parts, unit)
    found: list[Finding] = [*dead]
    blamed = {wrong.known} if wrong else {v for band in dead for v in (band.before, band.after)}
    if wrong is not None:
        found.append(wrong)
    for finding in findings(fit, unit):
        if isinstance(finding, PointOff) and _is_known(finding, fit, parts, blamed):
            continue
        if isinstance(finding, PointOff) and _cannot_tell(finding, fit):
            continue
        if isinstance(finding, (TurnsBack, Hysteresis)) and (wrong or dead):
            continue
        found.append(finding)
    unexplained = None if any(not f.ok for f in found) else do_not_fit(fit, parts, unit)
    return [*found, unexplained] if unexplained else found


def _cannot_tell(finding: PointOff, fit: Fit) -> bool:
    """Of three known values each contradicts the other two: a value read once is not to blame."""
    known = [point.known for point in fit.points]
    return len(set(known)) < 4 and known.count(finding.known) == 1


def _is_known(finding: PointOff, fit: Fit, parts: Parts, blamed: set[float]) -> bool:
    """Said already, too small to matter, or within what was stated of the known values."""
    offset = offset_of(fit, parts, [finding.number - 1])
    stated = SURE * offset.known_sd if offset else 0.0
    return finding.known in blamed or abs(finding.off) <= max(stated, SMALL_PART * 2 * fit.half)
