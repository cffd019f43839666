"""Has the rim gone under for good, and when?

Two signs, whichever comes first. With a rim gauge: the freeboard is far below nought and
stays there. With a surface gauge: the level has fallen below where a floating boat would
hold it, by a good part of all the water it displaced (a boat that has gone down displaces
only its solids; water that leaks into a boat still afloat does not move the level).
"""

from rig.trial.floating import Floating
from rig.trial.gauge_track import Channel, GaugeTrack

# A clean dry rim can hold back up to 3.9 mm of water (static puddle, see physics of
# capillarity), so a little below nought is not yet under.
UNDER_MM = 5.0
CONFIRM_S = 0.6
LOST_PART = 0.35  # of the displacement; solids of 2.4 g/ml and more leave 0.58 or more
SOON_S = 3.0  # a fall of the level so soon after an addition belongs to it
FILL_S = 0.5  # from rim under to going down: a boat fills first (our own estimate, no source)


class SinkingWatch:
    """Looks at the newest gauge rows of one trial."""

    def __init__(self, track: GaugeTrack, floating: Floating) -> None:
        self._track = track
        self._floating = floating

    def suspected(self, at_s: float) -> bool:
        """Whether the newest freeboard, where measured, is at or below nought."""
        newest = self._track.freeboard.between(at_s - CONFIRM_S / 2, at_s)
        return newest is not None and newest.value <= -3 * newest.sd

    def look(
        self,
        at_s: float,
        load_g: float,
        last_rest_mm: float | None,
        added_s: float | None,
        hurried: bool = False,
    ) -> float | None:
        """Return when the rim went under for good, once that is certain.

        Args:
            at_s: now.
            load_g: aboard now.
            last_rest_mm: freeboard of the last plateau afloat, if known.
            added_s: when load last went aboard, if it did.
            hurried: the trial ends now; one look must do where two are better.
        """
        if self._rim_is_under(at_s, hurried):
            return self._crossing(last_rest_mm)
        missing = self._level_missing(at_s, load_g, hurried)
        if missing is None:
            return None
        fell = self._fall_began(missing)
        if added_s is not None and added_s <= fell < added_s + SOON_S:
            return max(added_s, fell - FILL_S)  # the addition put the rim under, then it filled
        return fell

    def _rim_is_under(self, at_s: float, hurried: bool) -> bool:
        freeboard = self._track.freeboard
        limit = -UNDER_MM - 4 * freeboard.noise
        half_s = CONFIRM_S / 2
        second = freeboard.between(at_s - half_s, at_s)
        first = second if hurried else freeboard.between(at_s - CONFIRM_S, at_s - half_s)
        if first is None or second is None or min(first.n, second.n) < 2:
            return False
        return first.value < limit and second.value < limit

    def _crossing(self, last_rest_mm: float | None) -> float:
        """When the smoothed freeboard last stood above the water (or above its last rest)."""
        channel = self._track.freeboard
        base = -2 * channel.noise / _smoothing(channel) ** 0.5  # nought, as far as noise lets see
        if last_rest_mm is not None and last_rest_mm < 1.0:
            base = last_rest_mm - max(1.0, 3 * channel.noise)
        return _last_above(channel, base)

    def _level_missing(self, at_s: float, load_g: float, hurried: bool) -> float | None:
        """How far the level stands below a floating boat's, if it is a sinking's worth [mm]."""
        surplus = self._track.surplus
        rest, whole = self._floating.rest.level, self._floating.sinking_drop_mm(load_g)
        second = surplus.between(at_s - CONFIRM_S, at_s)
        first = second if hurried else surplus.between(at_s - 2 * CONFIRM_S, at_s - CONFIRM_S)
        if rest is None or whole is None or first is None or second is None:
            return None
        enough = max(LOST_PART * whole, 6 * (second.sd**2 + rest.sd**2) ** 0.5)
        return -second.value if max(first.value, second.value) < -enough else None

    def _fall_began(self, missing_mm: float) -> float:
        """When the level left its floating height for the last time."""
        surplus = self._track.surplus
        noise = surplus.noise / _smoothing(surplus) ** 0.5
        return _last_above(surplus, -max(0.1 * missing_mm, 2 * noise))


def _smoothing(channel: Channel) -> int:
    """Rows in about 0.3 s."""
    seconds = channel.at_s[-1] - channel.at_s[0]
    return max(1, min(len(channel.values), round(0.3 * len(channel.values) / max(seconds, 1e-9))))


def _last_above(channel: Channel, base: float) -> float:
    """The time at which the smoothed series last crossed `base` downwards."""
    later: tuple[float, float] | None = None
    for at_s, value in channel.backwards(_smoothing(channel)):
        if value > base:
            if later is None:
                return at_s
            part = (value - base) / (value - later[1])
            return at_s + part * (later[0] - at_s)
        later = (at_s, value)
    return channel.at_s[0]
