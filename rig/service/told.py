"""What the pages are told: plain dictionaries made from a trial's own numbers."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from rig.lesson.loading import next_addition
from rig.lesson.tub_check import TubCheck
from rig.lesson.tub_verdict import SPARE_MM
from rig.lesson.tub_words import tub_lines
from rig.physics.flotation import whole_items
from rig.records import TrialRow
from rig.sensing.health import BOARD, Ailment, RigHealth
from rig.sensing.remedies import line_for
from rig.sensing.source import SourceStatus
from rig.setup import Boat, Item, RigSetup
from rig.trial.curve import best_held
from rig.trial.events import Addition, CurvePoint, LiveView, Outcome, Phase, Prediction, TrialResult
from rig.trial.foretold import Foretold
from rig.trial.trial import Trial

UPRIGHT_DEG = 0.5  # less is rounding
SUNK = (Outcome.SWAMPED, Outcome.HEELED, Outcome.LEAKED)


def rig_told(setup: RigSetup, demo: bool, address: str) -> dict[str, Any]:
    """Topic `rig`."""
    return {
        "name": setup.rig.name,
        "layout": setup.rig.layout.value,
        "hold_s": setup.rig.hold_s,
        "item": _item_told(setup.item),
        "demo": demo,
        "address": address,
    }


def tub_told(tub: TubCheck) -> dict[str, Any]:
    """Topic `tub`: a watch and its newest verdict, before the first look None."""
    verdict = tub.verdict
    return {
        "watching": not tub.ended,
        "minutes": tub.minutes,
        "finding": verdict.finding.value if verdict else None,
        "lines": tub_lines(verdict, SPARE_MM) if verdict else [],
    }


def faults_told(health: RigHealth, setup: RigSetup, phase: Phase | None) -> list[dict[str, str]]:
    """What is wrong with board and channels; `phase` is that of a running trial.

    Without a boat afloat nobody misses the rim gauge's flag.
    """
    item = setup.item.name if setup.item else None
    afloat = phase in (Phase.TARING, Phase.ADDING, Phase.HOLDING)
    return [
        {
            "channel": trouble.channel,
            "ailment": trouble.ailment.value,
            "text": line_for(trouble, setup, health.troubles, phase is not None, item),
        }
        for trouble in health.troubles.values()
        if afloat or trouble.channel != "rim" or trouble.ailment is Ailment.FROZEN
    ]


def source_told(
    status: SourceStatus, disk: str | None, faults: Sequence[Mapping[str, str]]
) -> dict[str, Any]:
    """Topic `source`: `text` is one line for the teacher, `faults` are for the Board's own words.

    While the board says nothing, what its channels last suffered is nobody's business.
    """
    if not status.ok:
        silent = {"channel": BOARD, "ailment": Ailment.SILENT.value, "text": status.text}
        return {"ok": False, "text": disk or status.text, "faults": [silent]}
    lines = [disk] if disk else [fault["text"] for fault in faults]
    return {
        "ok": not lines,
        "text": " ".join(lines) or status.text,
        "faults": list(faults),
    }


def trial_told(
    trial: Trial,
    number: int | None,
    item: Item | None,
    next_boat: str | None,
    foretold: Foretold | None = None,
) -> dict[str, Any]:
    """Topic `trial`: the boat, its prediction and everything noticed so far."""
    boat = trial.boat
    result = trial.standing_result
    curve = list(result.curve) if result else trial.curve_so_far()
    additions = result.additions if result else trial.view.additions
    held = best_held(curve)
    return {
        "number": number,
        "boat": trial.label,
        "guess_items": boat.guess_items if boat else None,
        "hull": _hull_told(boat, foretold, result, trial.view.load_g or 0.0),
        "prediction": _prediction_told(trial.prediction, item),
        "curve": [_point_told(point) for point in curve],
        "additions": _additions_told(additions),
        "held_g": held.load_g if held else 0.0,
        "held_items": held.items if held else 0,
        "result": _result_told(result),
        "warnings": list(result.warnings if result else trial.warnings),
        "next_boat": next_boat,
    }


def now_told(
    view: LiveView, number: int | None, result: TrialResult | None, item: Item | None
) -> dict[str, Any]:
    """Topic `now`: the newest numbers of a running or just ended trial.

    `items` counts what the engine has noticed; `load_items` is the load itself in items, for
    the live trace, which must not wait for that.
    """
    load_items = view.load_g / item.mass_g if item and view.load_g is not None else None
    return {
        "trial_number": number,
        "at_s": view.at_s,
        "phase": view.phase.value,
        "state_text": _state_text(view, result),
        "load_g": view.load_g,
        "load_g_sd": view.load_g_sd,
        "items": view.items,
        "load_items": load_items,
        "freeboard_mm": view.freeboard_mm,
        "freeboard_mm_sd": view.freeboard_mm_sd,
        "draft_mm": view.draft_mm,
        "hold_left_s": view.hold_left_s,
        "counting": view.counting,
        "water_c": view.water_c,
        "forecast": asdict(view.forecast) if view.forecast else None,
        "call_items": _call(view) if result is None else None,
    }


def _call(view: LiveView) -> int | None:
    """How many items to put on next: many while the boat surely carries them, few near the end."""
    forecast = view.forecast
    if view.phase not in (Phase.ADDING, Phase.HOLDING) or view.items is None:
        return None
    if forecast is None or not forecast.fits or forecast.room_low_items is None:
        return None
    return next_addition(view.items, view.items + forecast.room_low_items).items


def idle_told(text: str) -> dict[str, Any]:
    """Topic `now` between trials."""
    blank = dict.fromkeys(now_told(LiveView(), None, None, None))
    return {**blank, "phase": "idle", "state_text": text}


def boat_told(boat: Boat, capacity_g: float, item: Item | None, held: Any) -> dict[str, Any]:
    """One row of topic `class`: a boat, what it should carry, and what it held if it was tested."""
    return {
        "label": boat.label,
        "hull": boat.hull.family,
        "mass_g": boat.mass_g,
        "capacity_items": whole_items(capacity_g, item.mass_g) if item else None,
        "guess_items": boat.guess_items,
        "tested": held is not None,
        "held_items": held,
    }


def result_row_told(number: int, label: str, result: Mapping[str, Any]) -> dict[str, Any]:
    """One row of the results of topic `class`."""
    return {
        "number": number,
        "boat": label,
        "outcome": str(result["outcome"]),
        "held_items": result["held_items"],
        "held_items_low": result.get("held_items_low"),
        "held_items_high": result.get("held_items_high"),
        "held_g": result["held_g"],
        "corrected": bool(result.get("corrections")),  # trials of the first release have none
    }


def correcting_told(row: TrialRow, result: TrialResult) -> dict[str, Any]:
    """What the Desk shows of a finished trial to put it right."""
    return {
        **result_row_told(row.number, row.boat_label, result.as_dict()),
        "reason": result.reason,
        "sunk_at_s": result.sunk_at_s,
        "additions": _additions_told(result.additions),
        "corrections": list(result.corrections),
    }


def _additions_told(additions: Iterable[Addition]) -> list[dict[str, Any]]:
    return [{"at_s": a.at_s, "mass_g": a.mass_g, "items": a.items} for a in additions]


def _item_told(item: Item | None) -> dict[str, Any] | None:
    return {"name": item.name, "mass_g": item.mass_g} if item else None


def _hull_told(
    boat: Boat | None, foretold: Foretold | None, result: TrialResult | None, load_g: float
) -> dict[str, Any] | None:
    """The section to draw: each body's (across, up) corners, and how far it leans.

    A boat that does not stand upright lies as physics says; one that tipped over is drawn leaning
    as far as it did when it went. `sunk_mm`: how deep its keel's middle lies when it leans.
    """
    if boat is None:
        return None
    heel_deg, sunk_mm = 0.0, None
    if foretold is not None and foretold.attitudes:
        if result is not None and result.outcome is Outcome.HEELED:
            heel_deg = foretold.tipping_deg(load_g)
        else:
            at = foretold.attitude(load_g)
            if abs(at.heel_deg) > UPRIGHT_DEG:
                heel_deg, sunk_mm = at.heel_deg, at.sunk_mm
    return {
        "family": boat.hull.family,
        "depth_mm": boat.hull.depth_mm,
        "floods": boat.hull.floods,
        "bodies_mm": [[list(corner) for corner in body] for body in boat.hull.ends_mm()],
        "heel_deg": heel_deg,
        "sunk_mm": sunk_mm,
    }


def _prediction_told(prediction: Prediction | None, item: Item | None) -> dict[str, Any] | None:
    if prediction is None:
        return None
    return {
        "capacity_g": prediction.capacity_g,
        "capacity_items": prediction.capacity_items,
        "held_back_g": prediction.held_back_g,
        "held_back_items": prediction.held_back_items,
        "held_back_mm": prediction.held_back_mm,
        "band": [
            {
                "load_g": point.load_g,
                "items": point.load_g / item.mass_g if item else None,
                "low_mm": point.low_mm,
                "high_mm": point.high_mm,
            }
            for point in prediction.band
        ],
        "curve": [
            {
                "load_g": load_g,
                "items": load_g / item.mass_g if item else None,
                "freeboard_mm": freeboard_mm,
            }
            for load_g, freeboard_mm in prediction.curve
        ],
    }


def _point_told(point: CurvePoint) -> dict[str, Any]:
    return {
        "at_s": point.at_s,
        "load_g": point.load_g,
        "load_g_sd": point.load_g_sd,
        "items": point.items,
        "freeboard_mm": point.freeboard_mm,
        "freeboard_mm_sd": point.freeboard_mm_sd,
        "method": point.method.value if point.method else None,
        "lasted_s": point.lasted_s,
        "held": point.held,
    }


def _result_told(result: TrialResult | None) -> dict[str, Any] | None:
    if result is None:
        return None
    return {
        "outcome": result.outcome.value,
        "reason": result.reason,
        "held_g": result.held_g,
        "held_g_sd": result.held_g_sd,
        "held_items": result.held_items,
        "held_items_low": result.held_items_low,
        "held_items_high": result.held_items_high,
        "held_items_p": result.held_items_p,
        "sunk_at_s": result.sunk_at_s,
        "predicted_capacity_g": result.predicted_capacity_g,
        "predicted_capacity_items": result.predicted_capacity_items,
        "warnings": list(result.warnings),
    }


def _state_text(view: LiveView, result: TrialResult | None) -> str:
    if result is not None:
        if result.outcome is Outcome.VOID:
            return "This test does not count."
        return "Down it went!" if result.outcome in SUNK else "Still afloat!"
    match view.phase:
        case Phase.TARING:
            return "Hands off: the rig is getting ready."
        case Phase.SINKING:
            return "It is going down!"
        case Phase.HOLDING if view.hold_left_s:
            return "Hands off! Will it hold?"
        case Phase.HOLDING if view.items:
            return "It holds! Add more."
        case Phase.HOLDING:
            return "Ready. Put the first load in."
        case _:
            return "Load is going in ..."
