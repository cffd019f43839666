"""What Archimedes says before the first item goes aboard."""

from rig.physics.flotation import capacity_g, float_at, whole_items
from rig.setup import Boat, Item
from rig.trial.events import Prediction

_POINTS = 41


def predict(boat: Boat, density_g_ml: float, item: Item | None) -> Prediction:
    """Return capacity and sinking curve, level rim, the boat's own mass taken off.

    A boat too heavy to float empty has capacity below 0 and no curve.
    """
    capacity = capacity_g(boat.hull, boat.mass_g, density_g_ml)
    items = whole_items(capacity, item.mass_g) if item and capacity >= 0 else None
    if capacity < 0:
        return Prediction(capacity, 0 if item else None, ())
    loads = [capacity * i / (_POINTS - 1) for i in range(_POINTS)]
    # the last load may exceed the hull by a rounding of its last digit
    points = [float_at(boat.hull, boat.mass_g, load, density_g_ml) for load in loads[:-1]]
    curve = [(point.load_g, point.freeboard_mm) for point in points]
    return Prediction(capacity, items, (*curve, (capacity, 0.0)))
