"""Hull families: the outside of a boat, by height above its keel.

To add a family: one file with a class that fits `Hull`, and its line in `FAMILIES`.
"""

from typing import Final

from rig.physics.hulls.box import Box
from rig.physics.hulls.dish import Dish
from rig.physics.hulls.hull import Hull, Measure, Waterplane
from rig.physics.hulls.tray import Tray

FAMILIES: Final[dict[str, type[Hull]]] = {"box": Box, "tray": Tray, "dish": Dish}

__all__ = ["FAMILIES", "Box", "Dish", "Hull", "Measure", "Tray", "Waterplane"]
