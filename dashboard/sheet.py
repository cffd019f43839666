"""The ceiling of the material: what one sheet can carry, for the teacher who plans a lesson."""

from dataclasses import asdict

from flask import Blueprint, render_template, request

from dashboard.desk import may_enter
from dashboard.saved import sheet_curve
from dashboard.svg.hull_drawing import hull_pictures, measured
from rig.errors import OutOfRange, RigError
from rig.physics.flotation import whole_items
from rig.physics.sheet import plan_sheet
from rig.physics.water import ROOM_C, water_density

bp = Blueprint("sheet", __name__, url_prefix="/desk/sheet")
bp.before_request(may_enter)

FIELDS = ("length_mm", "beam_mm", "sheet_g", "item_g")


@bp.get("")
def sheet() -> str:
    """The form, and below it what the sheet in the address comes to."""
    typed = {key: request.args.get(key, "").strip() for key in FIELDS}
    cut = "corners_cut" in request.args
    if not any(typed.values()):
        return render_template("sheet.html", typed=typed, cut=cut)
    try:
        length_mm, beam_mm = _number(typed, "length_mm"), _number(typed, "beam_mm")
        sheet_g = _number(typed, "sheet_g") if typed["sheet_g"] else 0.0
        plan = plan_sheet(length_mm, beam_mm, sheet_g, water_density(ROOM_C), cut)
        items = None
        if typed["item_g"]:
            items = whole_items(plan.best.capacity_g, _number(typed, "item_g"))
    except RigError as err:
        return render_template("sheet.html", typed=typed, cut=cut, error=err)
    told = {**asdict(plan), "best_items": items}
    return render_template(
        "sheet.html",
        typed=typed,
        cut=cut,
        told=told,
        pictures=hull_pictures(plan.box),
        measures=measured(plan.box),
        curve=sheet_curve(told),
    )


def _number(typed: dict[str, str], key: str) -> float:
    """A number, a comma for a point too."""
    try:
        return float(typed[key].replace(",", "."))
    except ValueError as err:
        raise OutOfRange(f'"{typed[key]}" is no number.', "Type a number, such as 210.") from err
