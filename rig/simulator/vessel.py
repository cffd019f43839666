"""One boat in the water: how deep it lies, what it displaces, how it goes down."""

from typing import Literal

from rig.physics.flotation import capacity_g, draft_for_volume
from rig.setup import Boat
from rig.simulator.conditions import Fate, Motion
from rig.simulator.ringing import Ringing

Fortune = Literal["swamped", "heeled", "leaked", "afloat"]
_DIP_MM = 3.0  # how far the rim is under when the boat has filled


class Vessel:
    """A boat from the moment it is set down; times are the bench's seconds.

    While it floats it displaces its own weight of water, what leaked in included; once it is
    gone its solids displace only their own volume.
    """

    def __init__(self, boat: Boat, fate: Fate, motion: Motion, density_g_ml: float) -> None:
        self.boat, self.fate, self.motion = boat, fate, motion
        self.load_g = 0.0
        self.inside_ml = 0.0
        self.gone_at_s: float | None = None  # when the rim went under for good
        self.fortune: Fortune = "afloat"
        self._density = density_g_ml
        self._depth = boat.hull.depth_mm
        self._full_ml = boat.hull.volume_ml(self._depth)
        self._rim_area_mm2 = boat.hull.rim_mm2()
        self._under_mm = self._depth + fate.rim_holds_mm  # the draft at which it goes
        self._heave = Ringing(motion.heave_hz, motion.heave_decay_s)
        self._settled_mm = self._equilibrium_mm()
        self._first_item_s: float | None = None
        self._now_s = 0.0
        self._lost_ml = 0.0  # what it raised the tub by when it went
        self._lost_freeboard_mm = 0.0

    @property
    def capacity_g(self) -> float:
        """The load that brings the level rim to the water [g]."""
        return capacity_g(self.boat.hull, self.boat.mass_g, self._density)

    @property
    def true_capacity_g(self) -> float:
        """The load it really carries upright and dry: what a held-back rim adds included [g]."""
        held_ml = self.fate.rim_holds_mm * self._rim_area_mm2 / 1000
        return self.capacity_g + held_ml * self._density

    @property
    def draft_mm(self) -> float:
        """Keel below the water, swing included; meaningful while it floats [mm]."""
        # a swing that dips the rim under for a moment is taken to ship no water
        return min(max(self._swung_mm, 0.0), self._under_mm)

    @property
    def raised_ml(self) -> float:
        """What it displaces less the water in it: what the tub's level rises for [ml]."""
        if self.gone_at_s is None:
            return self._volume_ml(self.draft_mm) - self.inside_ml
        sunk_ml = self._lost_ml + (self.solids_ml - self._lost_ml) * self._flooded
        return sunk_ml + self._risen_ml * self._fallen

    @property
    def solids_ml(self) -> float:
        """Volume of hull material and items alone [ml]."""
        return self.boat.mass_g / self.fate.material_g_ml + self.load_g / self.fate.item_g_ml

    @property
    def at_rest_s(self) -> float | None:
        """When it comes to lie on the floor, or keel up; None while it floats."""
        if self.gone_at_s is None:
            return None
        return self.gone_at_s + self.motion.fill_s + self._sink_s

    @property
    def flag_lost(self) -> bool:
        """Whether it has turned over, flag and mast with it."""
        return self.gone_at_s is not None and self.fate.floats_upside_down and self._filled > 0.5

    def rim_mm(self, level_mm: float) -> float:
        """Return the rim's height above the tub's floor [mm]."""
        if self.gone_at_s is None:
            return level_mm + self._depth - self.draft_mm
        above = self._lost_freeboard_mm - (self._lost_freeboard_mm + _DIP_MM) * self._filled
        awash_mm = level_mm + above
        if self.fate.floats_upside_down:  # keel up: the rim hangs down all its depth, about
            return awash_mm - (self._depth - _DIP_MM) * self._fallen
        return awash_mm + (self._depth - awash_mm) * self._fallen

    def land(self, mass_g: float, now_s: float) -> None:
        """Take one item aboard."""
        if self._first_item_s is None:
            self._first_item_s = now_s
        self.load_g += mass_g
        if self.gone_at_s is None:
            self._settle()

    def step(self, dt_s: float, now_s: float) -> None:
        """Go on by a time that ends now."""
        self._now_s = now_s
        if self.gone_at_s is not None:
            return
        self._heave.step(dt_s)
        if self._leaking:
            self.inside_ml += self.fate.leak_ml_s * dt_s
            self._settle()
        if self.fate.heels_at_g is not None and self.load_g >= self.fate.heels_at_g:
            self._go("heeled")
        elif self._settled_mm > self._under_mm and self._swung_mm >= self._under_mm:
            self._go("swamped" if self.load_g > self.true_capacity_g else "leaked")

    @property
    def _swung_mm(self) -> float:
        return self._settled_mm + self._heave.x

    @property
    def _leaking(self) -> bool:
        return (
            self.fate.leak_ml_s > 0
            and self._first_item_s is not None
            and self._now_s >= self._first_item_s + self.fate.leak_after_s
        )

    @property
    def _filled(self) -> float:
        return _smooth((self._now_s - (self.gone_at_s or 0.0)) / self.motion.fill_s)

    @property
    def _flooded(self) -> float:
        """Share of its displacement that is lost.

        Where air was caught, one end has gone to the floor, which bears what the water does not;
        the air leaves until the other end is down as well.
        """
        since = self._now_s - (self.gone_at_s or 0.0)
        return _smooth(since / (self.motion.fill_s + self.fate.air_pocket_s))

    @property
    def _fallen(self) -> float:
        since = self._now_s - (self.gone_at_s or 0.0) - self.motion.fill_s
        return _smooth(since / self._sink_s)

    @property
    def _sink_s(self) -> float:
        return self.motion.sink_s + self.fate.air_pocket_s

    @property
    def _risen_ml(self) -> float:
        """What a hull that comes up again, keel up, displaces beyond its own material [ml].

        It floats on the air under it and so displaces its own weight; the items stay below.
        """
        if not self.fate.floats_upside_down:
            return 0.0
        return self.boat.mass_g * (1 / self._density - 1 / self.fate.material_g_ml)

    def _volume_ml(self, draft_mm: float) -> float:
        """Below a draft; above the rim, where the water is held back, as if the wall went on."""
        if draft_mm <= self._depth:
            return self.boat.hull.volume_ml(draft_mm)
        return self._full_ml + (draft_mm - self._depth) * self._rim_area_mm2 / 1000

    def _go(self, fortune: Fortune) -> None:
        self._lost_ml = self.raised_ml
        self._lost_freeboard_mm = self._depth - self.draft_mm
        self.fortune, self.gone_at_s = fortune, self._now_s

    def _settle(self) -> None:
        """Find the new equilibrium; a share of the way there is swung, the rest is gone at once."""
        before, self._settled_mm = self._settled_mm, self._equilibrium_mm()
        self._heave.push(self.motion.bounce * (before - self._settled_mm))

    def _equilibrium_mm(self) -> float:
        """The draft at rest; beyond the rim as if the wall went on upright."""
        own_g = self.boat.mass_g + self.load_g
        wanted_ml = own_g / self._density + self.inside_ml
        over_ml = wanted_ml - self._full_ml
        if over_ml <= 0:
            return draft_for_volume(self.boat.hull, wanted_ml)
        return self._depth + 1000 * over_ml / self._rim_area_mm2


def _smooth(share: float) -> float:
    """0 to 1 without a jerk at either end."""
    t = min(max(share, 0.0), 1.0)
    return t * t * (3 - 2 * t)
