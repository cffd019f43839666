"""Pages saved to a file: everything within, no address, no script. Good for mail and print."""

from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from dashboard.svg.hull_drawing import hull_pictures, measured
from dashboard.svg.sheet_curve import sheet_picture
from dashboard.svg.sinking_curve import sinking_picture
from dashboard.words import LANGUAGE, WORDS
from rig.physics.hulls import Hull

_HERE = Path(__file__).parent
_STYLES = ("paper.css", "pictures.css", "saved.css")


def prediction_page(told: dict[str, Any], hull: Hull, title: str) -> str:
    """Return what physics says of a boat, as a page.

    Args:
        told: the JSON of `tubrig predict`.
        title: the group's label, or what kind of hull it is.
    """
    prediction = told["prediction"]
    curve = sinking_picture(
        prediction["curve"],
        [(p["load_g"], p["low_mm"], p["high_mm"]) for p in prediction["band"]],
        prediction["capacity_g"],
        prediction["held_back_g"],
    )
    return _page(
        "prediction.html",
        told=told,
        title=title,
        measures=measured(hull),
        pictures=hull_pictures(hull),
        curve=curve,
    )


def sheet_page(told: dict[str, Any], box: Hull) -> str:
    """Return the best tray of a sheet as a page.

    Args:
        told: the JSON of `tubrig plan sheet`.
        box: that tray.
    """
    return _page(
        "sheet.html",
        told=told,
        title=WORDS["sheet"]["title"],
        measures=measured(box),
        pictures=hull_pictures(box),
        curve=sheet_curve(told),
    )


def sheet_curve(told: dict[str, Any]) -> str:
    """Return the picture of what the trays of a sheet carry."""
    folds = [(fold["wall_mm"], fold["capacity_g"]) for fold in told["folds"]]
    return sheet_picture(folds, (told["best"]["wall_mm"], told["best"]["capacity_g"]))


def _page(name: str, **given: Any) -> str:
    pages = Environment(
        loader=FileSystemLoader(_HERE / "templates" / "saved"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    style = "\n".join((_HERE / "static" / name).read_text(encoding="utf-8") for name in _STYLES)
    return pages.get_template(name).render(words=WORDS, language=LANGUAGE, style=style, **given)
