"""The numbers that tell why a boat went down, gathered from its curve."""

from rig.errors import OutOfRange
from rig.physics.flotation import float_at
from rig.setup import Boat
from rig.trial.curve import CALM_S, NOW_S, WAY_S, Curve
from rig.trial.events import Addition, Freeboard, FreeboardMethod, Prediction, Sunk
from rig.trial.fate import LastMoments
from rig.trial.load_track import Plateau

SEEN_MM = 4.0


def last_moments(
    curve: Curve,
    boat: Boat | None,
    prediction: Prediction | None,
    density_g_ml: float,
    aboard: list[Addition],
    sunk: Sunk,
) -> LastMoments:
    """Return what was known when the boat went down.

    Args:
        aboard: what had been put on by then.
        sunk: when the rim went under.
    """
    sunk_s = sunk.at_s
    afloat = curve.afloat_before(sunk_s)
    last = afloat[-1] if afloat else None
    before = _just_before(curve, last, sunk_s)
    slide = curve.slide(last, _afloat_until(last, sunk_s)) if last else None
    left = _left(curve, afloat, aboard, sunk_s)
    return LastMoments(
        load_g=sum(addition.mass_g for addition in aboard),
        capacity_g=prediction.capacity_g if prediction else None,
        item_g=curve.item_g,
        since_addition_s=sunk_s - (aboard[-1].at_s if aboard else 0.0),
        left_mm=left[0] if left else None,
        left_mm_sd=left[1] if left else None,
        slid_mm=slide.fall_mm if slide else None,
        slid_sure=bool(slide and slide.fall_mm > 5 * slide.fall_mm_sd),
        missing_mm=_missing_mm(curve, boat, density_g_ml, last, before),
        unseen=sunk.tapped and _seen_afloat(curve, sunk_s),
    )


def _left(
    curve: Curve, afloat: list[Plateau], aboard: list[Addition], sunk_s: float
) -> tuple[float, float] | None:
    """Freeboard measured before the last addition, less what that costs, and its sd [mm].

    Only by a rim gauge: measured so, it needs neither the boat's mass nor its depth.
    """
    if curve.floating is None or not curve.gauges.freeboard.values or not aboard:
        return None
    soon = sunk_s - aboard[-1].at_s <= WAY_S + CALM_S
    for plateau in reversed(afloat):
        if soon and plateau.arrived_s > aboard[-1].at_s - NOW_S:
            continue  # that addition may still have been in somebody's hand
        end_s = _afloat_until(plateau, sunk_s)
        rest = curve.freeboard(plateau, end_s) if end_s - plateau.start_s >= CALM_S else None
        if rest is not None and rest.method is FreeboardMethod.DISPLACEMENT:
            return None  # the rim gauge has died
        if rest is not None:
            load_g = sum(addition.mass_g for addition in aboard)
            cost_mm = curve.floating.freeboard_cost_mm(load_g - curve.load_g(plateau))
            return rest.freeboard_mm - cost_mm, rest.freeboard_mm_sd
    return None


def _seen_afloat(curve: Curve, at_s: float) -> bool:
    """Whether a gauge saw the rim well above the water around a moment."""
    around = curve.gauges.freeboard.between(at_s - CALM_S, at_s + CALM_S)
    return around is not None and around.n >= 5 and around.value > SEEN_MM + 4 * around.sd


def _afloat_until(plateau: Plateau, sunk_s: float) -> float:
    """Shortly before it moved on, or went down."""
    end_s = sunk_s if plateau.end_s is None else min(plateau.end_s, sunk_s)
    return end_s - NOW_S


def _just_before(curve: Curve, last: Plateau | None, sunk_s: float) -> Freeboard | None:
    if last is None:
        return None
    end_s = _afloat_until(last, sunk_s)
    return curve.freeboard_between(end_s - CALM_S, end_s, curve.load_g(last))


def _missing_mm(
    curve: Curve,
    boat: Boat | None,
    density_g_ml: float,
    last: Plateau | None,
    before: Freeboard | None,
) -> float | None:
    """How much lower it lay than its load explains, beyond how it lay empty [mm]."""
    if boat is None or last is None or before is None or not curve.gauges.freeboard.values:
        return None
    tare = curve.load.plateaus[0]
    empty = curve.freeboard(tare, last.start_s if tare.end_s is None else tare.end_s)
    try:
        now = float_at(boat.hull, boat.mass_g, curve.load_g(last), density_g_ml)
        then = float_at(boat.hull, boat.mass_g, 0.0, density_g_ml)
    except OutOfRange:
        return None
    offset = then.freeboard_mm - empty.freeboard_mm if empty else 0.0
    return now.freeboard_mm - before.freeboard_mm - offset
