"""Freeboard and expected level of a boat in its tub, from whatever the rig can see."""

from dataclasses import dataclass
from math import sqrt

from rig.errors import OutOfRange
from rig.physics.flotation import draft_for_volume
from rig.physics.tub import Tub
from rig.setup import Boat, RigSetup, RimGauge, SurfaceGauge
from rig.trial.doubts import AIR_C_SD, ECHO_PART_PER_C, freeboard_sd_by_ruler
from rig.trial.events import Freeboard, FreeboardMethod
from rig.trial.gauge_track import GaugeTrack, Mean


@dataclass(frozen=True)
class EmptyRest:
    """How the boat floated before the first item: the reference of every later height."""

    level: Mean | None
    rim: Mean | None


class Floating:
    """Works out freeboard for one boat. All heights in mm above the tub's floor.

    Three ways, the first that the rig can go:
    rim gauge: rim less level, both measured;
    rim gauge and load: the rim measured, the level worked out from the load (Archimedes);
    displacement: the level's rise times the tub's area is the volume the load displaced,
    so the hull gives the draft.
    """

    def __init__(self, setup: RigSetup, boat: Boat | None, density_g_ml: float) -> None:
        self.rest = EmptyRest(None, None)
        self._asked: tuple[EmptyRest, float] | None = None
        self._answer: float | None = None
        self._boat = boat
        self._density = density_g_ml
        self._tub: Tub | None = setup.tub.table if setup.tub else None
        self._surface, self._rim = setup.surface, setup.rim
        self._height_sd = sqrt(
            (setup.surface.height_mm_sd if setup.surface else 0.0) ** 2
            + (setup.rim.height_mm_sd if setup.rim else 0.0) ** 2
        )

    def freeboard(
        self, track: GaugeTrack, from_s: float, to_s: float, load_g: float
    ) -> Freeboard | None:
        """Return the mean freeboard over a stretch at one load; None if the rig cannot tell."""
        level = track.level.between(from_s, to_s)
        if level is None:
            rim = track.rim.between(from_s, to_s)
            return None if rim is None else self._by_rim_and_load(rim, load_g)
        if mean := track.freeboard.between(from_s, to_s):
            echo_sd = self._echo_sd(level.value, mean.value + level.value)
            sd = sqrt(mean.sd**2 + self._height_sd**2 + echo_sd**2)
            return Freeboard(mean.value, sd, FreeboardMethod.RIM_GAUGE)
        return self._by_displacement(level)

    def by_displacement(self, track: GaugeTrack, from_s: float, to_s: float) -> Freeboard | None:
        """Return the mean freeboard by the level's rise alone; None if the rig cannot tell."""
        level = track.level.between(from_s, to_s)
        return None if level is None else self._by_displacement(level)

    def level_mm(self, load_g: float) -> float | None:
        """Return where the level stands while the boat floats under a load; None if unknown.

        Without a surface gauge the empty boat's rim, less its freeboard by Archimedes' law, tells
        the level it began at; without a tub the rise is left out.
        """
        asked = (self.rest, load_g)
        if asked != self._asked:  # one row asks three times over
            self._asked, self._answer = asked, self._level_mm(load_g)
        return self._answer

    def _level_mm(self, load_g: float) -> float | None:
        if self.rest.level is None:
            return self._level_under_rim(load_g)
        if self._tub is None:
            return None
        try:
            empty_ml = self._tub.volume_ml(self.rest.level.value)
            return self._tub.level_mm(empty_ml + load_g / self._density)
        except OutOfRange:
            return None

    def level_heard_late(self, level: Mean, load_g: float) -> None:
        """The surface gauge heard nothing while the boat was empty, but does under a known load.

        Archimedes' law says how far the load has lifted the water since then.
        """
        if self._tub is None:
            return
        try:
            empty_ml = self._tub.volume_ml(level.value) - load_g / self._density
            empty_mm = self._tub.level_mm(empty_ml)
        except OutOfRange:
            return
        self.rest = EmptyRest(Mean(empty_mm, level.sd, level.n), self.rest.rim)

    def freeboard_cost_mm(self, load_g: float) -> float:
        """Return the freeboard that a load costs near the rim [mm]; 0 for a boat not measured."""
        if self._boat is None:
            return 0.0
        hull = self._boat.hull
        return 1000 * load_g / self._density / hull.rim_mm2()

    def sinking_drop_mm(self, load_g: float) -> float | None:
        """Return how far the level would fall if all the water now displaced came back [mm]."""
        if self._tub is None or self.rest.level is None or self._boat is None:
            return None
        try:
            area = self._tub.area_mm2(self.rest.level.value)
        except OutOfRange:
            return None
        return 1000 * (self._boat.mass_g + load_g) / (self._density * area)

    def _level_under_rim(self, load_g: float) -> float | None:
        rest, boat = self.rest.rim, self._boat
        if rest is None or boat is None:
            return None
        try:
            draft = draft_for_volume(boat.hull, boat.mass_g / self._density)
        except OutOfRange:
            return None
        empty_mm = rest.value - (boat.hull.depth_mm - draft)
        if self._tub is None:
            return empty_mm
        try:
            return self._tub.level_mm(self._tub.volume_ml(empty_mm) + load_g / self._density)
        except OutOfRange:
            return empty_mm

    def _echo_sd(self, level_mm: float, rim_mm: float) -> float:
        """What a wrong speed of sound does to rim less level: the beams differ in length [mm]."""
        if self._surface is None or self._rim is None:
            return 0.0
        down_to_water = self._surface.height_mm - level_mm
        down_to_flag = self._rim.height_mm - self._rim.flag_mm - rim_mm
        return abs(_echo_part(self._surface) * down_to_water - _echo_part(self._rim) * down_to_flag)

    def _ruler_sd(self, rise_ml: float) -> float:
        if self._boat is None:
            return 0.0
        displaced_ml = self._boat.mass_g / self._density + rise_ml
        return freeboard_sd_by_ruler(self._boat.hull, displaced_ml)

    def _by_rim_and_load(self, rim: Mean, load_g: float) -> Freeboard | None:
        level_mm = self.level_mm(load_g)
        if level_mm is None:
            return None
        sd = self._sd_by_rim_and_load(rim)
        return Freeboard(rim.value - level_mm, sd, FreeboardMethod.RIM_AND_LOAD)

    def _sd_by_rim_and_load(self, rim: Mean) -> float:
        """Where the empty boat's level was measured, both gauges' heights count; else it comes
        from hull and rim, and the rim gauge's own height drops out."""
        level, empty = self.rest.level, self.rest.rim
        if level is not None:
            echo_sd = self._echo_sd(level.value, rim.value)
            return sqrt(rim.sd**2 + level.sd**2 + self._height_sd**2 + echo_sd**2)
        empty_sd = empty.sd if empty else 0.0
        echo_sd = _echo_part(self._rim) * abs(empty.value - rim.value) if empty else 0.0
        return sqrt(rim.sd**2 + empty_sd**2 + self._ruler_sd(0.0) ** 2 + echo_sd**2)

    def _by_displacement(self, level: Mean) -> Freeboard | None:
        tub, rest, boat = self._tub, self.rest.level, self._boat
        if tub is None or rest is None or boat is None:
            return None
        try:
            rise_ml = tub.volume_ml(level.value) - tub.volume_ml(rest.value)
            area = tub.area_mm2(level.value)
        except OutOfRange:
            return None
        hull = boat.hull
        displaced_ml = boat.mass_g / self._density + rise_ml
        over_ml = displaced_ml - hull.volume_ml(hull.depth_mm)
        if over_ml > 0:  # the rim is under, or noise says so: carry on with the rim's waterplane
            draft = hull.depth_mm
            freeboard = -1000 * over_ml / hull.rim_mm2()
        else:
            # noise may put a boat of almost no mass below 0 ml; its keel is then at the surface
            draft = draft_for_volume(hull, max(displaced_ml, 0.0))
            freeboard = hull.depth_mm - draft
        per_level = area / (hull.waterplane(draft).area_mm2 or hull.rim_mm2())
        echo_sd = _echo_part(self._surface) * abs(level.value - rest.value)
        level_sd = per_level * sqrt(level.sd**2 + rest.sd**2 + echo_sd**2)
        sd = sqrt(level_sd**2 + self._ruler_sd(rise_ml) ** 2)
        return Freeboard(freeboard, sd, FreeboardMethod.DISPLACEMENT)


def _echo_part(gauge: SurfaceGauge | RimGauge | None) -> float:
    """Standard uncertainty of an echo's distance by the air's temperature, as a part of it."""
    return AIR_C_SD * ECHO_PART_PER_C if gauge is not None and gauge.unit == "us" else 0.0
