"""The physical truth: a tub of water, perhaps a boat in it, and the items still on the tray."""

from collections.abc import Sequence
from random import Random

from rig.errors import OutOfRange
from rig.physics.tub import Tub
from rig.physics.water import water_density
from rig.setup import Boat, Layout, RigSetup
from rig.simulator.conditions import Conditions, Fate
from rig.simulator.ringing import Ringing
from rig.simulator.vessel import Vessel


class World:
    """What is really there, stepped in small steps; gauges look at it, hands change it."""

    def __init__(self, setup: RigSetup, conditions: Conditions, rng: Random) -> None:
        water = conditions.water
        self.tub = setup.tub.table if setup.tub else Tub.straight(water.tub_area_mm2)
        self.water_c = water.water_c
        self.vessel: Vessel | None = None
        self.now_s = 0.0
        self.tray: list[float] = []  # masses of the items not yet taken [g]
        self.pressed_g = 0.0  # what hands add to the cell; below 0 they lift
        self.shaken_g = 0.0  # standard deviation of a shaking table's force
        self.in_beam_mm: dict[str, float] = {}  # gauge -> height of a hand above the water
        self._layout = setup.rig.layout
        self._conditions = conditions
        self._rng = rng
        self._density = water_density(water.water_c)
        self._water_ml = self.tub.volume_ml(water.level_mm)  # at its first temperature
        self._swells = 1.0  # its volume over that
        self._passes = bool(water.leak_ml_h or water.dries_mm_day or water.room_c is not None)
        self._waves = Ringing(conditions.motion.wave_hz, conditions.motion.wave_decay_s)
        self._slosh = Ringing(conditions.motion.wave_hz, conditions.motion.wave_decay_s)
        self._dropped_g = self._dropped_ml = 0.0  # items that fell into the tub

    @property
    def level_mm(self) -> float:
        """The still water's level above the floor [mm]."""
        raised_ml = self.vessel.raised_ml if self.vessel else 0.0
        water_ml = self._water_ml * self._swells
        return self.tub.level_mm(water_ml + raised_ml + self._dropped_ml)

    @property
    def surface_mm(self) -> float:
        """The water under the gauge, waves included [mm]."""
        return self.level_mm + self._waves.x

    @property
    def rim_mm(self) -> float | None:
        """The rim's height above the floor; None without a boat [mm]."""
        return self.vessel.rim_mm(self.level_mm) if self.vessel else None

    @property
    def gross_g(self) -> float:
        """What the load cell bears, in this rig's layout [g]."""
        if self._layout is Layout.FEED_TRAY:
            return self._conditions.cell.tray_g + sum(self.tray)
        aboard_g = self.vessel.boat.mass_g + self.vessel.load_g if self.vessel else 0.0
        tub_g = self._conditions.cell.tub_g + self._dropped_g
        return tub_g + self._water_ml * self._density + aboard_g

    @property
    def felt_g(self) -> float:
        """What the load cell feels of all that, hands and slosh included, shaking not [g]."""
        if not (self.pressed_g or self._slosh.x):
            return self.gross_g
        # a lifted tray leaves the cell altogether: it cannot be pulled up
        return max(0.0, self.gross_g + self.pressed_g + self._slosh.x)

    def place(self, boat: Boat, fate: Fate, items_g: Sequence[float]) -> None:
        """Set an empty boat down and lay the items out.

        Raises:
            OutOfRange: this tub is too small, too full or too shallow for the boat, or the boat
                goes down empty.
        """
        vessel = Vessel(boat, fate, self._conditions.motion, self._density)
        self._must_fit(vessel)
        self.vessel, self.tray = vessel, list(items_g)
        self._wave()

    def pour(self, volume_ml: float) -> None:
        """Pour water in, below 0 out. Raises OutOfRange outside the tub's table."""
        self.tub.level_mm(self._water_ml + volume_ml)
        self._water_ml += volume_ml

    def take_out(self) -> None:
        """Take boat and load out of the tub."""
        self.vessel = None
        self._dropped_g = self._dropped_ml = 0.0  # fished out with the boat
        self.pressed_g = self.shaken_g = 0.0
        self.in_beam_mm = {}
        self._wave()

    def land_next(self) -> float:
        """Move the next item from the tray into the boat; return its mass [g]."""
        if self.vessel is None:
            raise ValueError("there is no boat to put it into")
        mass_g = self.tray.pop()
        self.vessel.land(mass_g, self.now_s)
        self._wave()
        return mass_g

    def take_back(self, mass_g: float) -> None:
        """Move an item from the boat back to the tray."""
        if self.vessel is None:
            raise ValueError("there is no boat to take it from")
        self.vessel.land(-mass_g, self.now_s)
        self.tray.append(mass_g)
        self._wave()

    def drop_next(self, into_water: bool) -> float:
        """Let the next item fall beside the boat; return its mass [g].

        On the tub's floor it displaces its own volume and its weight rests on the tub.
        """
        mass_g = self.tray.pop()
        if into_water:
            density = self.vessel.fate.item_g_ml if self.vessel else Fate().item_g_ml
            self._dropped_g += mass_g
            self._dropped_ml += mass_g / density
            self._wave()
        return mass_g

    def nudge(self, by_mm: float, by_g: float) -> None:
        """Knock the tub: its water swings, and a cell under it feels that."""
        self._waves.push(by_mm * self._rng.choice((-1, 1)))
        if self._layout is Layout.TUB_ON_CELL:
            self._slosh.push(by_g)

    def step(self, dt_s: float) -> None:
        """Go on by a time."""
        self.now_s += dt_s
        self._waves.step(dt_s)
        self._slosh.step(dt_s)
        if self._passes:
            self._lose(dt_s)
        if self.vessel:
            self.vessel.step(dt_s, self.now_s)

    def _lose(self, dt_s: float) -> None:
        """Leak, dry away, and come nearer to the room's temperature."""
        water, hours = self._conditions.water, dt_s / 3600
        dried_ml = water.dries_mm_day / 24 * hours * self.tub.area_mm2(self.level_mm) / 1000
        self._water_ml = max(0.0, self._water_ml - water.leak_ml_h * hours - dried_ml)
        if water.room_c is not None:
            self.water_c += (water.room_c - self.water_c) * min(1.0, hours / water.warms_h)
            self._swells = self._density / water_density(self.water_c)

    def _wave(self) -> None:
        self._waves.push(self._conditions.motion.wave_mm * self._rng.uniform(-1, 1))

    def _must_fit(self, vessel: Vessel) -> None:
        hull = vessel.boat.hull
        label, level = vessel.boat.label, self._conditions.water.level_mm
        if vessel.capacity_g <= 0:
            raise OutOfRange(f"The boat {label} goes down empty.", "Make it lighter or larger.")
        if hull.rim_mm2() >= self.tub.area_mm2(level):
            raise OutOfRange(f"The boat {label} is wider than the tub.", "Take a wider tub.")
        if hull.depth_mm >= level:
            raise OutOfRange(
                f"The water stands {level:g} mm deep, too shallow for the boat {label} of"
                f" {hull.depth_mm:g} mm to go down in.",
                "Raise level_mm under [water].",
            )
        self.tub.level_mm(self._water_ml + hull.volume_ml(hull.depth_mm))  # or it runs over
