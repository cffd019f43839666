"""What a person writes down about a rig and its boats: TOML files, checked as they are read."""

from rig.setup.boatsfile import Boat, boat_from_dict, read_boats
from rig.setup.rigfile import Item, Layout, LoadCell, RigSetup, RimGauge, SurfaceGauge, read_setup

__all__ = [
    "Boat",
    "Item",
    "Layout",
    "LoadCell",
    "RigSetup",
    "RimGauge",
    "SurfaceGauge",
    "boat_from_dict",
    "read_boats",
    "read_setup",
]
