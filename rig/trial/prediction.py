"""What Archimedes says before the first item goes aboard."""

from rig.physics.flotation import float_at, whole_items
from rig.setup import Boat, Item
from rig.trial.events import Prediction
from rig.trial.possible_boats import PossibleBoats
from rig.trial.prediction_band import prediction_band

_POINTS = 41


def predict(boat: Boat, boats: PossibleBoats, item: Item | None) -> Prediction:
    """Return capacity and sinking curve, the boat's own mass taken off, and their band.

    A boat too heavy to float empty has capacity below 0 and no curve.

    Args:
        boats: drawn around the measured one.
    """
    band = prediction_band(boats)
    capacity = band.level_rim_g
    curve: list[tuple[float, float]] = []
    if capacity >= 0:
        loads = [capacity * i / (_POINTS - 1) for i in range(_POINTS - 1)]
        points = [float_at(boat.hull, boat.mass_g, g, boats.density_g_ml) for g in loads]
        # the last load may exceed the hull by a rounding of its last digit
        curve = [*((point.load_g, point.freeboard_mm) for point in points), (capacity, 0.0)]
    return Prediction(
        capacity_g=capacity,
        capacity_items=whole_items(capacity, item.mass_g) if item else None,
        held_back_g=band.held_back_g,
        held_back_items=whole_items(band.held_back_g, item.mass_g) if item else None,
        held_back_mm=band.held_back_mm,
        curve=tuple(curve),
        band=band.curve,
    )
