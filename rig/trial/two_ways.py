"""Two ways to find the freeboard, rim gauge and displacement: do they agree?

The rim gauge leads: it needs neither the hull's measures nor the boat's mass. Where the water's
rise tells something else, by more than both are unsure of, one of them is wrong.
"""

from math import sqrt

from rig.trial.curve import CALM_S, Curve
from rig.trial.events import FreeboardMethod

UNLIKE_SD = 3.5  # standard deviations; two plateaus must say so
LEAST_PLATEAUS = 2


def disagreement(curve: Curve, until_s: float) -> str | None:
    """Return what to tell the teacher where the two ways differ; None where they agree.

    Plateaus that were short, or sank lower under a steady load, are left out: water that leaks
    into a boat lowers the rim and leaves the level.
    """
    if curve.floating is None:
        return None
    unlike: list[tuple[float, float]] = []
    looked = 0
    for plateau in curve.load.plateaus:
        end_s = until_s if plateau.end_s is None else min(plateau.end_s, until_s)
        from_s = plateau.start_s + CALM_S
        if end_s - from_s < 2 * CALM_S or curve.slides(plateau, end_s):
            continue
        rim = curve.freeboard_between(from_s, end_s, curve.load_g(plateau))
        level = curve.floating.by_displacement(curve.gauges, from_s, end_s)
        if rim is None or level is None or rim.method is not FreeboardMethod.RIM_GAUGE:
            continue
        looked += 1
        sd = sqrt(rim.freeboard_mm_sd**2 + level.freeboard_mm_sd**2)
        if abs(rim.freeboard_mm - level.freeboard_mm) > UNLIKE_SD * sd:
            unlike.append((rim.freeboard_mm, level.freeboard_mm))
    if len(unlike) < max(LEAST_PLATEAUS, looked / 2):
        return None
    rim_mm, level_mm = unlike[-1]
    return (
        f"Two ways to find the freeboard differ: {rim_mm:.0f} mm by the rim gauge,"
        f" {level_mm:.0f} mm by the water's rise. Look for water in the boat, a wrong measure or"
        " mass, a float that sticks, or a flag that is not under the gauge."
    )
