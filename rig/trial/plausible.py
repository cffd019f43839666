"""Heights that cannot be: a hand in the beam, half or double an echo.

Hands and half echoes make a distance short, so that level or rim seem too high; a double
echo makes it long, so that they seem too low. Water and rim can only be between where they
were with the empty boat, where they must be while it floats, and where they end when it is down.
"""

from rig.setup import RigSetup
from rig.trial.floating import Floating
from rig.trial.gauge_track import GaugeTrack

WAVE_MM = 6.0  # waves and a nudged tub reach so far beyond
NOISE = 6.0  # standard deviations
UNKNOWN_MM = 40.0  # how far level or rim may move where tub or hull are not known


class Plausible:
    """Judges one row's heights at the load of the moment."""

    def __init__(self, setup: RigSetup, floating: Floating) -> None:
        self._flag_mm = setup.rim.flag_mm if setup.rim else 0.0
        self._floating = floating

    def level_mm(self, level_mm: float | None, load_g: float, track: GaugeTrack) -> float | None:
        """Return the level, or None if water cannot stand there."""
        rest = self._floating.rest.level
        if level_mm is None or rest is None:
            return level_mm
        slack = WAVE_MM + NOISE * track.level.noise
        high = self._floating.level_mm(max(load_g, 0.0))
        drop = self._floating.sinking_drop_mm(0.0)
        top = rest.value + UNKNOWN_MM if high is None else max(high, rest.value)
        bottom = rest.value - (UNKNOWN_MM if drop is None else drop)
        return level_mm if bottom - slack <= level_mm <= top + slack else None

    def rim_mm(self, rim_mm: float | None, load_g: float, track: GaugeTrack) -> float | None:
        """Return the rim's height, or None if it cannot be there."""
        rest = self._floating.rest
        if rim_mm is None or rest.rim is None:
            return rim_mm
        slack = WAVE_MM + NOISE * track.rim.noise
        rise = 0.0
        if rest.level is not None:
            floating = self._floating.level_mm(max(load_g, 0.0))
            rise = UNKNOWN_MM if floating is None else max(0.0, floating - rest.level.value)
        top = rest.rim.value + rise  # a load can only press it down; the water may lift it
        return rim_mm if -self._flag_mm - slack <= rim_mm <= top + slack else None
