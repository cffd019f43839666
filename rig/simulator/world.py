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
        self._layout = setup.rig.layout
        self._conditions = conditions
        self._rng = rng
        self._density = water_density(water.water_c)
        self._water_ml = self.tub.volume_ml(water.level_mm)
        self._waves = Ringing(conditions.motion.wave_hz, conditions.motion.wave_decay_s)

    @property
    def level_mm(self) -> float:
        """The still water's level above the floor [mm]."""
        raised_ml = self.vessel.raised_ml if self.vessel else 0.0
        return self.tub.level_mm(self._water_ml + raised_ml)

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
        return self._conditions.cell.tub_g + self._water_ml * self._density + aboard_g

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

    def take_out(self) -> None:
        """Take boat and load out of the tub."""
        self.vessel = None
        self._wave()

    def land_next(self) -> float:
        """Move the next item from the tray into the boat; return its mass [g]."""
        if self.vessel is None:
            raise ValueError("there is no boat to put it into")
        mass_g = self.tray.pop()
        self.vessel.land(mass_g, self.now_s)
        self._wave()
        return mass_g

    def step(self, dt_s: float) -> None:
        """Go on by a time."""
        self.now_s += dt_s
        self._waves.step(dt_s)
        if self.vessel:
            self.vessel.step(dt_s, self.now_s)

    def _wave(self) -> None:
        self._waves.push(self._conditions.motion.wave_mm * self._rng.uniform(-1, 1))

    def _must_fit(self, vessel: Vessel) -> None:
        hull = vessel.boat.hull
        label, level = vessel.boat.label, self._conditions.water.level_mm
        if vessel.capacity_g <= 0:
            raise OutOfRange(f"The boat {label} goes down empty.", "Make it lighter or larger.")
        if hull.waterplane(hull.depth_mm).area_mm2 >= self.tub.area_mm2(level):
            raise OutOfRange(f"The boat {label} is wider than the tub.", "Take a wider tub.")
        if hull.depth_mm >= level:
            raise OutOfRange(
                f"The water stands {level:g} mm deep, too shallow for the boat {label} of"
                f" {hull.depth_mm:g} mm to go down in.",
                "Raise level_mm under [water].",
            )
        self.tub.level_mm(self._water_ml + hull.volume_ml(hull.depth_mm))  # or it runs over
