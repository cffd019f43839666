"""Everything physics says of a boat before its test, worked out once: for pages and commands."""

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any, Final

from rig.errors import OutOfRange
from rig.physics.equilibrium import settle
from rig.physics.flotation import FloatPoint, float_at, sinking_curve, whole_items
from rig.physics.heeling import Laden
from rig.physics.off_centre import OffCentre, off_centre_limit
from rig.physics.outlook import BULK_G_ML, Outlook, outlook
from rig.physics.stability import InitialStability, initial_stability
from rig.physics.uncertainty import Bill, bill
from rig.physics.water import ROOM_C, water_density
from rig.physics.weights import Weight, boat_weight, piled_height_mm, spread_height_mm
from rig.setup import Boat, Item
from rig.trial.events import Prediction
from rig.trial.possible_boats import PossibleBoats
from rig.trial.prediction import predict

POINTS: Final = 21
BEARS_AT: Final = (0.25, 0.5, 0.75)  # parts of the capacity


@dataclass(frozen=True, slots=True)
class Heap:
    """How the load lies: spread over the bottom, or piled up on a footprint.

    Attributes:
        bulk_g_ml: mass of the heaped items over the room they take [g/ml].
        pile_mm2: footprint of the pile; None where the load is spread [mm2].
    """

    bulk_g_ml: float = BULK_G_ML
    pile_mm2: float | None = None

    def height_mm(self, boat: Boat) -> Callable[[float], float]:
        """Return the load's centre above the keel, by its mass [mm]."""
        wall_mm = boat.wall_mm if boat.hull.floods else 0.0
        if self.pile_mm2 is None:
            return lambda load_g: spread_height_mm(boat.hull, load_g, self.bulk_g_ml, wall_mm)
        footprint_mm2 = self.pile_mm2
        return lambda load_g: piled_height_mm(
            boat.hull, load_g, self.bulk_g_ml, footprint_mm2, wall_mm
        )


@dataclass(frozen=True, slots=True)
class Bears:
    """How far to the side of its middle a boat bears a load."""

    load_g: float
    limit: OffCentre


@dataclass(frozen=True, slots=True)
class Attitude:
    """How a boat lies with a load in its middle.

    Attributes:
        heel_deg: 0 for one that stands upright.
        sunk_mm: how far the middle of its keel is below the surface.
    """

    load_g: float
    heel_deg: float
    sunk_mm: float


@dataclass(frozen=True, slots=True)
class Foretold:
    """What is known of a boat before its test.

    Attributes:
        density_g_ml: of the water.
        prediction: capacity, level and with a rim held back, and the curve with its band.
        bill: where the doubt comes from, largest first.
        outlook: what comes first, filling or tipping.
        empty: draft and freeboard of the empty boat.
        stability: of the empty boat; None for one that weighs nothing.
        points: draft and freeboard for loads from 0 to the capacity.
        bears: the largest distance to the side at a quarter, half and three quarters.
        attitudes: how it lies empty, at those loads, and full.
        likely_items: items by the bill's 90 % interval, low and high; None without an item.
    """

    boat: Boat
    density_g_ml: float
    prediction: Prediction
    bill: Bill
    outlook: Outlook
    empty: FloatPoint
    stability: InitialStability | None
    points: tuple[FloatPoint, ...]
    bears: tuple[Bears, ...]
    attitudes: tuple[Attitude, ...]
    likely_items: tuple[int, int] | None

    def attitude(self, load_g: float) -> Attitude:
        """How it lies at about this load."""
        return min(self.attitudes, key=lambda at: abs(at.load_g - load_g))

    def tipping_deg(self, load_g: float) -> float:
        """How far it leans, at about this load, when it tips over or its low rim goes under."""
        near = min(self.bears, key=lambda at: abs(at.load_g - load_g), default=None)
        return near.limit.heel_deg if near else 0.0

    def as_dict(self) -> dict[str, Any]:
        """For JSON; the boat as its label and family."""
        told = asdict(self)
        told["boat"] = {"label": self.boat.label, "mass_g": self.boat.mass_g}
        return {"hull": self.boat.hull.family, **told}


def foretell(
    boat: Boat, item: Item | None = None, water_c: float | None = None, heap: Heap | None = None
) -> Foretold:
    """Return all that physics says of a boat before its test. Takes 0.1 to 1 s.

    Args:
        item: one unit weight, to count in.
        water_c: None without a thermometer [deg C].
        heap: how the load lies; spread washers if None.

    Raises:
        OutOfRange: the boat goes down empty, or one of its numbers cannot be.
    """
    hull, mass_g = boat.hull, boat.mass_g
    density = water_density(ROOM_C if water_c is None else water_c)
    prediction = predict(boat, PossibleBoats(hull, mass_g, water_c, boat.doubts), item)
    capacity = prediction.capacity_g
    if capacity < 0:
        raise OutOfRange(
            f"This boat goes down empty: it is {-capacity:.1f} g too heavy for its size.",
            "Measure and weigh it again, or build higher walls.",
        )
    height_mm = (heap or Heap()).height_mm(boat)
    empty = float_at(hull, mass_g, 0.0, density)
    doubt = bill(hull, mass_g, water_c, boat.doubts)
    loads = [capacity * (i / (POINTS - 1)) for i in range(POINTS)]
    likely = (doubt.low_g, doubt.high_g)
    return Foretold(
        boat,
        density,
        prediction,
        doubt,
        outlook(hull, mass_g, density, load_height_mm=height_mm),
        empty,
        initial_stability(hull, empty.draft_mm) if mass_g > 0 else None,
        tuple(sinking_curve(hull, mass_g, density, loads)),
        _bears(boat, density, capacity, height_mm),
        _attitudes(boat, density, capacity, height_mm),
        (whole_items(likely[0], item.mass_g), whole_items(likely[1], item.mass_g))
        if item
        else None,
    )


def _bears(
    boat: Boat, density_g_ml: float, capacity_g: float, height_mm: Callable[[float], float]
) -> tuple[Bears, ...]:
    empty = Laden(boat.hull, _own_weight(boat), density_g_ml)
    loads = [part * capacity_g for part in BEARS_AT if capacity_g > 0]
    return tuple(
        Bears(load_g, off_centre_limit(empty, load_g, height_mm(load_g))) for load_g in loads
    )


def _attitudes(
    boat: Boat, density_g_ml: float, capacity_g: float, height_mm: Callable[[float], float]
) -> tuple[Attitude, ...]:
    found = []
    for part in (0.0, *BEARS_AT, 0.98):  # full to the rim there is no rest to look for
        load_g = part * capacity_g
        loads = [Weight(load_g, z_mm=height_mm(load_g))] if load_g > 0 else []
        weights = (*_own_weight(boat), *loads)
        if not weights:
            continue  # what weighs nothing lies on the water
        rest = settle(Laden(boat.hull, weights, density_g_ml))
        found.append(Attitude(load_g, rest.heel_deg, rest.surface.height_mm))
    return tuple(found)


def _own_weight(boat: Boat) -> tuple[Weight, ...]:
    return (boat_weight(boat.hull, boat.mass_g),) if boat.mass_g > 0 else ()
