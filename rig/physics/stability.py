"""Stability by the handbook: KB, BM and KM upright, lists and arms at small angles."""

from dataclasses import dataclass
from math import atan2, degrees, radians, sin, tan

from rig.errors import OutOfRange
from rig.physics.hulls import Hull


@dataclass(frozen=True, slots=True)
class InitialStability:
    """Heights above the keel [mm], for small angles of heel."""

    kb_mm: float
    bm_mm: float
    km_mm: float


def initial_stability(hull: Hull, draft_mm: float) -> InitialStability:
    """Return KB, BM and KM at a draft above 0 and up to the rim.

    BM = I / V with I the waterplane's second moment about the fore-and-aft axis;
    KM = KB + BM. The boat returns upright while its centre of gravity is below KM.

    Raises:
        OutOfRange: the draft is 0 (or so small that no volume is left) or outside the hull.

    Source:
        C.B. Barrass and D.R. Derrett, Ship Stability for Masters and Mates,
        chapter on transverse statical stability.
    """
    volume_mm3 = 1000 * hull.volume_ml(draft_mm)
    if volume_mm3 == 0:
        raise OutOfRange(
            "A hull with no water under its keel has no metacentre.",
            "Give the boat's mass, so that it floats at some draft.",
        )
    kb = hull.centroid_mm(draft_mm)
    bm = hull.waterplane(draft_mm).across_mm4 / volume_mm3
    return InitialStability(kb, bm, kb + bm)


def small_angle_arm_mm(gm_mm: float, heel_deg: float) -> float:
    """Return GZ = GM sin(heel) [mm], good to about ten degrees.

    Source: Barrass and Derrett, as above. For any angle and form: `rig.physics.heeling`.
    """
    return gm_mm * sin(radians(heel_deg))


def wall_sided_arm_mm(gm_mm: float, bm_mm: float, heel_deg: float) -> float:
    """Return GZ = (GM + BM tan^2(heel) / 2) sin(heel) [mm].

    Exact while the sides at the water's surface stand upright: no rim under, no bottom out.

    Source: Barrass and Derrett, as above, chapter on stability at large angles of heel.
    """
    heel = radians(heel_deg)
    return (gm_mm + bm_mm * tan(heel) ** 2 / 2) * sin(heel)


def small_angle_list_deg(listing_moment: float, mass: float, gm: float) -> float:
    """Return the list under a load off the centre line: tan = w d / (W GM) [degrees].

    Args:
        listing_moment: mass off the centre line x its distance [g mm].
        mass: everything afloat, above 0 [g].
        gm: metacentric height, above 0 [mm].

    Raises:
        OutOfRange: `mass` or `gm` is not above 0: it does not stand upright at all.

    Source: Barrass and Derrett, as above, chapter on list.
    """
    if not (mass > 0 and gm > 0):
        raise OutOfRange(
            f"With GM = {gm:g} mm this boat does not stand upright.",
            "Put the load lower, or build it wider.",
        )
    return degrees(atan2(listing_moment, mass * gm))


def free_surface_loss_mm(hold: Hull, level_mm: float, inside_g_ml: float, afloat_g: float) -> float:
    """Return how much GM loses by water that is free to run inside: i x density / mass [mm].

    Args:
        hold: the room inside the boat.
        level_mm: height of the water above its floor [mm].
        inside_g_ml: density of what runs [g/ml].
        afloat_g: everything afloat, that water included, above 0 [g].

    Raises:
        OutOfRange: a level outside the room, or no mass.

    Source: Barrass and Derrett, as above, chapter on the effect of slack tanks.
    """
    if not afloat_g > 0:
        raise OutOfRange("A boat of no mass cannot be.", "Give the boat's mass.")
    return hold.waterplane(level_mm).across_mm4 / 1000 * inside_g_ml / afloat_g
