"""Heights that cannot be: a hand in the beam, half or double an echo.

Hands and half echoes make a distance short, so that level or rim seem too high; a double
echo makes it long, so that they seem too low. Water and rim can only be between where they
were with the empty boat, where they must be while it floats, and where they end when it is down.
"""

from math import inf

from rig.setup import RigSetup
from rig.trial.floating import Floating
from rig.trial.gauge_track import GaugeTrack

WAVE_MM = 6.0  # waves and a nudged tub reach so far beyond
NOISE = 6.0  # standard deviations
UNKNOWN_MM = 40.0  # how far level or rim may move where tub or hull are not known


class Plausible:
    """Judges rows' heights: `at` a load, and then row after row until the load is looked at again.

    `floating_mm`: where the level must stand under that load while the boat floats.
    """

    def __init__(self, setup: RigSetup, floating: Floating) -> None:
        self.floating_mm: float | None = None
        self._flag_mm = setup.rim.flag_mm if setup.rim else 0.0
        self._floating = floating
        self._level_mm = self._rim_mm = (-inf, inf)  # lowest and highest that can be

    def at(self, load_g: float, track: GaugeTrack) -> None:
        """From now on so much is aboard, and the gauges are as noisy as this."""
        rest = self._floating.rest
        self.floating_mm = self._floating.level_mm(load_g)
        high_mm = self._floating.level_mm(max(load_g, 0.0))
        self._level_mm = self._rim_mm = (-inf, inf)
        rise_mm = 0.0
        if rest.level is not None:
            slack_mm = WAVE_MM + NOISE * track.level.noise
            drop_mm = self._floating.sinking_drop_mm(0.0)
            top_mm = rest.level.value + UNKNOWN_MM if high_mm is None else high_mm
            bottom_mm = rest.level.value - (UNKNOWN_MM if drop_mm is None else drop_mm)
            rise_mm = max(0.0, top_mm - rest.level.value)
            self._level_mm = (bottom_mm - slack_mm, rest.level.value + rise_mm + slack_mm)
        if rest.rim is not None:
            slack_mm = WAVE_MM + NOISE * track.rim.noise
            # a load can only press the rim down; the water may lift it
            self._rim_mm = (-self._flag_mm - slack_mm, rest.rim.value + rise_mm + slack_mm)

    def level_mm(self, level_mm: float | None) -> float | None:
        """Return the level, or None if water cannot stand there."""
        return _within(self._level_mm, level_mm)

    def rim_mm(self, rim_mm: float | None) -> float | None:
        """Return the rim's height, or None if it cannot be there."""
        return _within(self._rim_mm, rim_mm)


def _within(limits: tuple[float, float], value: float | None) -> float | None:
    return value if value is not None and limits[0] <= value <= limits[1] else None
