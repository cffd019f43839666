"""What all calibrations share: a look at the points, in words. Pure."""

from collections.abc import Sequence
from math import sqrt
from statistics import fmean

from rig.sensing.calibrating import Fit, Point, findings
from rig.sensing.calibrating.contradictions import SMALL_PART, do_not_fit, swapped, wrong_value
from rig.sensing.calibrating.dead_bands import dead_bands
from rig.sensing.calibrating.findings import Hysteresis, PointOff, TurnsBack
from rig.sensing.procedures.known import counted
from rig.sensing.procedures.steps import Taken
from rig.setup.finding import Finding


def points_of(taken: Sequence[Taken], per_raw: float = 1.0) -> list[Point]:
    """Return the points in the order taken; all with the same noise, so that all count alike.

    Args:
        per_raw: of the unit to fit in, for one raw unit.
    """
    noise = sqrt(fmean(one.reading.raw_sd**2 for one in taken)) * abs(per_raw)
    return [Point(one.known.value, one.reading.raw * per_raw, noise) for one in taken]


def parts_of(taken: Sequence[Taken]) -> list[dict[str, tuple[float, float]]]:
    """Return each point's pieces, for the budget."""
    return [
        {piece.name: (count, piece.sd) for piece, count in counted(one.known.parts) if piece.sd}
        for one in taken
    ]


def look_over(fit: Fit, taken: Sequence[Taken], unit: str) -> list[Finding]:
    """Return what the points show. The strongest contradiction speaks, its echoes do not."""
    stated = [one.known.sd for one in taken]
    exchanged = swapped(fit, unit)
    if exchanged is not None:
        return [exchanged]
    own_sd = max(one.known.own_sd for one in taken)
    dead = dead_bands(fit.points, unit, own_sd)
    wrong = None if dead else wrong_value(fit, stated, unit)
    found: list[Finding] = [*dead]
    blamed = {wrong.known} if wrong else {v for band in dead for v in (band.before, band.after)}
    if wrong is not None:
        found.append(wrong)
    for finding in findings(fit, unit):
        if isinstance(finding, PointOff) and _is_known(finding, fit, blamed):
            continue
        if isinstance(finding, (TurnsBack, Hysteresis)) and (wrong or dead):
            continue
        found.append(finding)
    unexplained = None if any(not f.ok for f in found) else do_not_fit(fit, stated, unit)
    return [*found, unexplained] if unexplained else found


def _is_known(finding: PointOff, fit: Fit, blamed: set[float]) -> bool:
    """Said already, or too small to matter."""
    return finding.known in blamed or abs(finding.off) <= SMALL_PART * 2 * fit.half
