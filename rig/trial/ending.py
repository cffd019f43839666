"""How a trial ended: why, and its result, read from the curve."""

from dataclasses import dataclass

from rig.setup import Boat
from rig.trial.curve import Curve, best_held
from rig.trial.events import Outcome, Prediction, Sunk, TrialResult
from rig.trial.fate import fate_of
from rig.trial.last_moments import last_moments

SAME_MOMENT_S = 0.8  # an addition this long after the rim went under still counts as aboard


@dataclass(frozen=True, slots=True)
class Ending:
    """Reads one trial's end, once or again; nothing is changed by it."""

    label: str
    curve: Curve
    boat: Boat | None
    prediction: Prediction | None
    density_g_ml: float

    def fate(self, sunk: Sunk) -> tuple[Outcome, str, bool]:
        """Return outcome, reason, and whether a gauge saw it afloat all the same."""
        aboard = self.curve.aboard(sunk.at_s + SAME_MOMENT_S)
        known = last_moments(
            self.curve, self.boat, self.prediction, self.density_g_ml, aboard, sunk
        )
        return *fate_of(known), known.unseen

    def result(
        self,
        outcome: Outcome,
        reason: str,
        sunk_at_s: float | None,
        ends_s: float,
        warnings: tuple[str, ...],
    ) -> TrialResult:
        """Return the result of that end; the curve says the rest.

        Args:
            sunk_at_s: when it went down, None if it did not; seconds since the start mark.
            ends_s: when the trial ended.
        """
        curve, until_s = self.curve, ends_s if sunk_at_s is None else sunk_at_s
        points = curve.points(until_s)
        if outcome in (Outcome.SWAMPED, Outcome.HEELED):
            points = curve.without_last_straw(points, until_s)
        held = best_held(points)
        count = curve.count(curve.aboard(held.at_s) if held else ())
        aboard = curve.aboard(until_s if sunk_at_s is None else until_s + SAME_MOMENT_S)
        prediction = self.prediction
        return TrialResult(
            boat=self.label,
            outcome=outcome,
            reason=reason,
            held_g=held.load_g if held else 0.0,
            held_g_sd=held.load_g_sd if held else 0.0,
            held_items=held.items if held else (0 if curve.item_g else None),
            held_items_low=count.low if count else None,
            held_items_high=count.high if count else None,
            held_items_p=count.p if count else None,
            sunk_at_s=sunk_at_s,
            predicted_capacity_g=prediction.capacity_g if prediction else None,
            predicted_capacity_items=prediction.capacity_items if prediction else None,
            additions=tuple(aboard),
            curve=tuple(points),
            warnings=warnings,
        )
