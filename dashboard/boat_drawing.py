"""What the boat form draws: a family's example, or the boat as far as it is typed in."""

from collections.abc import Mapping
from functools import cache
from typing import Any

from dashboard.svg.hull_drawing import hull_pictures, measured
from rig.errors import RigError
from rig.physics.drawing import example
from rig.physics.hulls import FAMILIES, Hull, Twin
from rig.setup.hullfile import hull_from_dict

DRAWN = (*FAMILIES, "twin", "sections")


@cache
def drawings() -> Mapping[str, Mapping[str, Any]]:
    """The example of each family the form knows."""
    return {family: drawn(example(family)) for family in DRAWN}


def drawn(hull: Hull) -> dict[str, Any]:
    """Two views, and the letter of each measure that they show."""
    pictures = hull_pictures(hull)
    return {
        "pictures": [pictures["side"], pictures["end"]],
        "letters": {one.key: one.letter for one in measured(hull)},
    }


def hull_so_far(table: Mapping[str, Any]) -> Hull:
    """Return the hull of a `[[boat]]` table, or its family's example while that is not whole.

    For a family that there is not, the box.
    """
    given = {key: value for key, value in table.items() if key not in ("hull", "label", "mass_g")}
    family = str(table.get("hull"))
    try:
        return hull_from_dict(family, given, "boat", "", ("boat",), None)
    except RigError:
        pass
    each = table.get("each")
    if family == "twin" and isinstance(each, Mapping) and each.get("hull") in FAMILIES:
        one = hull_so_far(each)
        widest_mm = 2 * max(abs(y) for corners in one.ends_mm() for y, _ in corners)
        return Twin(one, 1.6 * widest_mm)
    return example(family if family in DRAWN else "box")
