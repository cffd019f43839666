"""Has the rim gone under for good, and when?

Two signs. With a rim gauge: the freeboard is far below nought and stays there. With a surface
gauge: the level has fallen below where a floating boat would hold it, by a good part of all
the water it displaced (a boat that has gone down displaces only its solids; water that leaks
into a boat still afloat does not move the level). Where both could be seen, both are waited for
a while: a sinking that did not happen must never be told.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import sqrt
from statistics import fmean

from rig.trial.floating import Floating
from rig.trial.gauge_track import Channel, GaugeTrack, Mean

# A clean dry rim can hold back up to 3.9 mm of water (rig/physics/capillarity.py), so a
# little below nought is not yet under.
UNDER_MM = 5.0
CONFIRM_S, LONG_S = 1.0, 4.0
ALONE_S = 3.0  # a rim so long under is believed by itself: a boat drifts out of the beam for less
GONE_S = 3.0  # hands stay in the beam for 2 s at the most (common practice, no source)
FORGOTTEN_S = 15.0  # a rim unseen for so long has a dead gauge: the level is asked alone
LOST_PART = 0.35  # of the displacement; solids of 2.4 g/ml and more leave 0.58 or more
LEAST_FALL_MM = 1.2  # less is a float that sticks, or a nudge (common practice, no source)
SMOOTH_S, SLOW_SMOOTH_S = 0.3, 1.0
FAST_MM = 12.0  # in a second: no noise hides when that began (our own estimate, no source)
SLOW_MM = 3.0  # a boat that goes down by less in a second is looked at through a longer mean
NEAR_MM = 1.0  # a boat that lay so low may have been behind a dry rim already
STRAW_MM = 2.0  # a load that should leave no more may have been too much
HELD_BACK_MM = 3.9  # the most a dry rim holds back: deeper it does not stand
REACHED_S = 5.0  # from tray to boat and under: a hand's way and a moment more
GAVE_MM = 1.2  # in a second: leaks are slower (our own estimate, no source)
SOON_S = 3.0  # a fall of the level so soon after an addition belongs to it
BLUR_S = 1.5  # noise makes a fall seem to begin so much too early (our own estimate, no source)
FIRST_PART, MOST_PART = 0.2, 0.6  # of a fall: between them its speed is taken
SLOWEST_S = 2.0  # what went before the first part took no longer (our own estimate, no source)
HANDS_WAY_S = 0.8  # from tray to boat, about (our own estimate, no source)
RATE_ROWS = 1000  # how many rows come in a second is told by so many
BORNE_S = 1.5  # a load borne for so long did not put the rim under (our own estimate, no source)
FILL_S = 0.5  # from rim under to going down: a boat fills first (our own estimate, no source)


@dataclass(frozen=True, slots=True)
class LastRest:
    """How the boat last lay afloat; None where it was not seen."""

    load_g: float
    freeboard_mm: float | None
    level_mm: float | None
    slides_mm_s: float  # how fast it was sinking already at constant load: a leak; else 0


class SinkingWatch:
    """Looks at the newest gauge rows of one trial."""

    def __init__(self, track: GaugeTrack, floating: Floating, at_once: bool) -> None:
        """`at_once`: load that the cell sees is in the boat, not in a hand on its way there."""
        self._track = track
        self._floating = floating
        self._at_once = at_once
        self._heaviest_g = 0.0  # the most that was aboard since the rim was seen last

    def suspected(self, at_s: float) -> bool:
        """Whether the newest freeboard, where measured, is at or below nought."""
        newest = self._track.freeboard.between(at_s - CONFIRM_S / 2, at_s)
        return newest is not None and newest.value <= -3 * newest.sd

    def look(
        self,
        at_s: float,
        load_g: float,
        least_g: float,
        last_rest: Callable[[], LastRest],
        added_s: float | None,
        hurried: bool = False,
    ) -> float | None:
        """Return when the rim went under for good, once that is certain.

        Args:
            at_s: now.
            load_g: aboard now.
            least_g: what is aboard for sure: a load that has only just appeared may be a hand.
            last_rest: asked how the boat last lay afloat, if that is needed.
            added_s: when load last went aboard, if it did.
            hurried: the trial ends now; one look must do where two are better.
        """
        self._note_load(at_s, load_g)
        if self._flag_gone(at_s):
            return self._gone_with_the_flag(load_g, least_g, last_rest(), added_s, at_s)
        missing = self._level_missing(at_s, least_g, last_rest, hurried)
        if self._rim_is_under(at_s, least_g, CONFIRM_S, hurried):
            if missing or hurried or self._rim_is_under(at_s, least_g, ALONE_S, False):
                return self._crossing(last_rest(), load_g, added_s)
            return None
        if missing is None:
            return None
        fell, before_s = self._fall_began(missing)
        if added_s is None or not added_s - BLUR_S <= fell < added_s + SOON_S + before_s:
            return fell
        if fell - added_s > BORNE_S and self._rim_went_under(at_s):
            return _last_above(self._track.freeboard, -HELD_BACK_MM, SMOOTH_S)
        # the addition put the rim under, then it filled
        if self._at_once and before_s > FILL_S:
            began_s = fell - before_s
            return added_s if began_s - added_s <= BLUR_S else fell
        return max(added_s, fell - max(FILL_S, before_s))

    def _note_load(self, at_s: float, load_g: float) -> None:
        """Who lifts the tray after the flag was lost had not lifted it before."""
        seen = self._track.rim.at_s
        in_sight = bool(seen) and at_s - seen[-1] < CONFIRM_S
        self._heaviest_g = load_g if in_sight else max(self._heaviest_g, load_g)

    def _flag_gone(self, at_s: float) -> bool:
        """Whether the rim gauge has seen nothing for longer than a hand or lost echoes last."""
        seen = self._track.rim.at_s
        return len(seen) >= 10 and GONE_S <= at_s - seen[-1] < FORGOTTEN_S

    def _gone_with_the_flag(
        self,
        load_g: float,
        least_g: float,
        last: LastRest,
        added_s: float | None,
        at_s: float,
    ) -> float | None:
        """The moment it went down, if the rim was falling, or the level has fallen, since then.

        Without either the gauge may just have died.
        """
        freeboard, level = self._track.freeboard, self._track.level
        gone_s = self._track.rim.at_s[-1]
        if last.freeboard_mm is not None and len(freeboard.values) >= 2:
            newest_mm = fmean(freeboard.values[-2:])
            fall_mm = max(UNDER_MM, 4 * freeboard.noise)
            # an addition lowers the boat too: all of it may be aboard
            after_mm = self._after_mm(last, max(self._heaviest_g, least_g))
            if newest_mm < min(last.freeboard_mm, after_mm) - fall_mm:
                return self._crossing(last, load_g, added_s) if newest_mm < 0 else gone_s
        newest, afloat = level.between(at_s - 2 * CONFIRM_S, at_s), self._floating.level_mm(least_g)
        whole = self._floating.sinking_drop_mm(least_g)
        if newest is None or afloat is None or whole is None or last.level_mm is None:
            return None
        enough = max(LOST_PART * whole / 2, 4 * newest.sd)
        fell = afloat - newest.value > enough and last.level_mm - newest.value > enough / 2
        if not fell:
            return None
        fell_s, _ = self._fall_began(afloat - newest.value)
        return gone_s if abs(fell_s - gone_s) <= GONE_S else fell_s  # the gauge had died before

    def _rim_went_under(self, at_s: float) -> bool:
        """Whether the rim, lost by now, was seen far below nought a moment ago."""
        freeboard = self._track.freeboard
        if len(freeboard.values) < 2 or at_s - freeboard.at_s[-1] > GONE_S:
            return False
        return fmean(freeboard.values[-2:]) < -UNDER_MM - 4 * freeboard.noise

    def _after_mm(self, last: LastRest, load_g: float) -> float:
        """The freeboard that the load now aboard should leave, by the last one measured."""
        cost_mm = self._floating.freeboard_cost_mm(load_g - last.load_g)
        return (last.freeboard_mm or 0.0) - max(0.0, cost_mm)

    def _rim_is_under(self, at_s: float, least_g: float, span_s: float, hurried: bool) -> bool:
        """Whether the freeboard was far below nought in all parts of the last while."""
        parts = 1 if hurried else round(2 * span_s / CONFIRM_S)
        part_s = CONFIRM_S / 2
        unseen = 0  # echoes or lines may be lost for a second
        for i in range(parts):
            newest = self._freeboard(at_s - (i + 1) * part_s, at_s - i * part_s, least_g)
            unseen += newest is None
            if newest is not None and newest.value >= -UNDER_MM - 4 * newest.sd:
                return False
        return unseen <= max(0, parts // 2 - 1)

    def _freeboard(self, from_s: float, to_s: float, least_g: float) -> Mean | None:
        if self._track.level.values:
            return self._track.freeboard.between(from_s, to_s)
        rim, level_mm = self._track.rim.between(from_s, to_s), self._floating.level_mm(least_g)
        if rim is None or level_mm is None:
            return None
        return Mean(rim.value - level_mm, rim.sd, rim.n)

    def _crossing(self, last: LastRest, load_g: float, added_s: float | None) -> float:
        """When the rim went under, by the smoothed freeboard.

        If the last load was more than the boat could bear, when that load reached it; else
        when the freeboard last stood above nought, or, where the rim held water back, when it
        gave way.
        """
        channel = self._track.freeboard
        unseen_mm = 2 * channel.noise / sqrt(_rows_in(channel, SMOOTH_S))
        base = -unseen_mm  # nought, as far as noise lets see
        if last.freeboard_mm is not None and last.freeboard_mm < NEAR_MM:
            base = min(base, last.freeboard_mm - max(0.5, unseen_mm))
        under_s = _last_above(channel, base, SMOOTH_S)
        if added_s is None or not -0.5 <= under_s - added_s <= REACHED_S:
            return self._gave_way(under_s, last.slides_mm_s)
        if last.freeboard_mm is None:
            return under_s
        after_mm = max(self._after_mm(last, load_g), -HELD_BACK_MM)
        if after_mm > STRAW_MM:
            return under_s
        falls_mm = self._falls_mm(under_s)
        unhurried = 0 < falls_mm < FAST_MM and not last.slides_mm_s
        if unhurried and self._lay_low(added_s, under_s):
            return added_s if self._at_once else min(under_s, added_s + HANDS_WAY_S)
        slow = falls_mm < SLOW_MM
        reached_mm = last.freeboard_mm - 0.4 * (last.freeboard_mm - after_mm)
        reached_s = _last_above(channel, reached_mm, SLOW_SMOOTH_S if slow else SMOOTH_S)
        reached_s = max(reached_s, min(added_s, under_s))
        return self._gave_way(reached_s, last.slides_mm_s) if last.slides_mm_s else reached_s

    def _lay_low(self, added_s: float, under_s: float) -> bool:
        """Whether the rim was at the water all the while from an addition until it was under."""
        between = self._track.freeboard.between(added_s + FILL_S, under_s)
        return between is None or between.value <= 2 * between.sd

    def _gave_way(self, under_s: float, leak_mm_s: float) -> float:
        """From nought on, the first moment after which it went down faster than a leak lets it."""
        channel = self._track.freeboard
        clearly = GAVE_MM + 2 * leak_mm_s + 1.5 * channel.noise / sqrt(_rows_in(channel, 1.0))
        end_s = channel.at_s[-1] - 1.5
        at_s = under_s
        while at_s < end_s and self._falls_mm(at_s) < clearly:
            at_s += 0.25
        return at_s if at_s < end_s else under_s

    def _falls_mm(self, at_s: float) -> float:
        """How far the freeboard falls in the second after a moment."""
        freeboard = self._track.freeboard
        before = freeboard.between(at_s - 0.5, at_s + 0.25)
        after = freeboard.between(at_s + 1.0, at_s + 1.5)
        return 0.0 if before is None or after is None else before.value - after.value

    def _level_missing(
        self, at_s: float, least_g: float, last_rest: Callable[[], LastRest], hurried: bool
    ) -> float | None:
        """How far the level stands below a floating boat's, if it is a sinking's worth [mm].

        A coarse gauge needs a longer mean to tell.
        """
        afloat, whole = self._floating.level_mm(least_g), self._floating.sinking_drop_mm(least_g)
        rest = self._floating.rest.level
        if rest is None or afloat is None or whole is None:
            return None
        least_mm = max(LOST_PART * whole, LEAST_FALL_MM)
        lowest_mm = self._track.level.lowest_since(at_s - LONG_S)
        if lowest_mm is None or afloat - lowest_mm <= least_mm:
            return None  # no mean can lie lower than this
        for span_s in (CONFIRM_S, LONG_S):
            second = self._track.level.between(at_s - span_s / 2, at_s)
            first = self._track.level.between(at_s - span_s, at_s - span_s / 2)
            first = second if hurried else first
            if first is None or second is None:
                continue
            enough = max(least_mm, 6 * sqrt(second.sd**2 + rest.sd**2))
            newest = max(first.value, second.value)
            if afloat - newest <= enough:
                continue
            # a float that sticks lags behind where it should be, but it does not fall
            before = last_rest().level_mm
            if before is None or before - newest >= enough / 2:
                return afloat - newest
        return None

    def _fall_began(self, missing_mm: float) -> tuple[float, float]:
        """When the level was seen to leave its floating height, and how long before it began to.

        Something that begins to sink gathers speed, so that the way goes with the square of the
        time: what went on before its first part follows from the time that the most of it took.
        """
        surplus = self._track.surplus
        if not surplus.values:
            return self._track.level.at_s[-1], 0.0
        noise = surplus.noise / sqrt(_rows_in(surplus, SMOOTH_S))
        first_mm = max(FIRST_PART * missing_mm, 2 * noise)
        most_mm = max(MOST_PART * missing_mm, 1.5 * first_mm)
        first_s = _last_above(surplus, -first_mm, SMOOTH_S)
        most_s = max(first_s, _last_above(surplus, -most_mm, SMOOTH_S))
        early = surplus.between(first_s, (first_s + most_s) / 2)
        if early is not None and early.value > -0.8 * first_mm:
            return most_s, 0.0  # that was noise, or a wave: it fell at once, and later
        part = sqrt(first_mm / most_mm)
        return first_s, min((most_s - first_s) * part / (1 - part), SLOWEST_S)


def _rows_in(channel: Channel, span_s: float) -> int:
    """Rows in so much time, one at least."""
    newest = channel.at_s[-RATE_ROWS:]
    rows = round(span_s * len(newest) / max(newest[-1] - newest[0], 1e-9))
    return max(1, min(len(channel.values), rows))


def _last_above(channel: Channel, base: float, span_s: float) -> float:
    """The time at which the smoothed series last crossed `base` downwards."""
    later: tuple[float, float] | None = None
    for at_s, value in channel.backwards(_rows_in(channel, span_s)):
        if value > base:
            if later is None:
                return at_s
            part = (value - base) / (value - later[1])
            return at_s + part * (later[0] - at_s)
        later = (at_s, value)
    return channel.at_s[0]
