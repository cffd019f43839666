"""Hull families: the outside of a boat, by height above its keel.

To add a family: one file with a class on `Shape` that has `family`, `measures`, `depth_mm` and
`outline`, and its line in `FAMILIES`. All else follows by integration; closed forms make it faster.
`FAMILIES` are built from numbers alone; `Twin`, `Sections` and `Mesh` from more than that.
"""

from typing import Final

from rig.physics.hulls.bowl import Bowl
from rig.physics.hulls.box import Box
from rig.physics.hulls.brimful import Brimful
from rig.physics.hulls.dish import Dish
from rig.physics.hulls.hull import Hull, Measure, Waterplane
from rig.physics.hulls.mesh import Mesh
from rig.physics.hulls.outline import Circle, Outline, Polygon
from rig.physics.hulls.raft import Raft, raft_mass_g
from rig.physics.hulls.sections import Sections
from rig.physics.hulls.surface import Displaced, Surface
from rig.physics.hulls.tray import Tray
from rig.physics.hulls.trough import Trough
from rig.physics.hulls.tubes import Tubes
from rig.physics.hulls.twin import Twin
from rig.physics.hulls.vee import Vee

FAMILIES: Final[dict[str, type[Hull]]] = {
    "box": Box,
    "tray": Tray,
    "dish": Dish,
    "bowl": Bowl,
    "trough": Trough,
    "vee": Vee,
    "tubes": Tubes,
    "raft": Raft,
    "brimful": Brimful,
}

__all__ = [
    "FAMILIES",
    "Bowl",
    "Box",
    "Brimful",
    "Circle",
    "Dish",
    "Displaced",
    "Hull",
    "Measure",
    "Mesh",
    "Outline",
    "Polygon",
    "Raft",
    "Sections",
    "Surface",
    "Tray",
    "Trough",
    "Tubes",
    "Twin",
    "Vee",
    "Waterplane",
    "raft_mass_g",
]
