"""Initial stability of an upright hull: KB, BM and KM."""

from dataclasses import dataclass

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
