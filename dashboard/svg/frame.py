"""Axes with round numbers, for the curves."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import floor, log10
from typing import Final

from dashboard.svg.elements import Point, path, text

WIDTH: Final = 640.0
HEIGHT: Final = 360.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 64.0, 18.0, 26.0, 54.0


@dataclass(frozen=True, slots=True)
class Frame:
    """A plot from (0, `low`) to (`right`, `high`) in its own units, 640 x 360 pixels."""

    right: float
    low: float
    high: float
    across: str  # what the numbers below mean
    upward: str  # and those on the left

    def at(self, x: float, y: float) -> Point:
        """Where a point lies on the page."""
        return (
            _LEFT + x / self.right * (WIDTH - _LEFT - _RIGHT),
            _TOP + (self.high - y) / (self.high - self.low) * (HEIGHT - _TOP - _BOTTOM),
        )

    def upright(self, x: float, kind: str) -> str:
        """A line all the way up."""
        return path([self.at(x, self.high), self.at(x, self.low)], kind)

    def level(self, y: float, kind: str) -> str:
        """A line all the way across."""
        return path([self.at(0, y), self.at(self.right, y)], kind)

    def axes(self) -> Iterator[str]:
        """Grid, numbers, and what they mean."""
        for value in ticks(self.low, self.high):
            yield self.level(value, "water" if value == 0 and self.low < 0 else "grid")
            x, y = self.at(0, value)
            yield text((x - 8, y + 5), f"{value:g}", anchor="end")
        for value in ticks(0, self.right):
            x, y = self.at(value, self.low)
            yield path([(x, y), (x, y + 5)], "axis")
            yield text((x, y + 21), f"{value:g}")
        corners = [self.at(0, self.high), self.at(0, self.low), self.at(self.right, self.low)]
        yield path(corners, "axis")
        yield text((_LEFT, 16), self.upward, anchor="start")
        yield text(((_LEFT + WIDTH - _RIGHT) / 2, HEIGHT - 10), self.across)


def ticks(low: float, high: float, about: int = 6) -> list[float]:
    """Return round numbers from `low` to `high`: 1, 2 or 5 times a power of ten apart."""
    raw = (high - low) / about
    power = 10 ** floor(log10(raw))
    step = next(power * times for times in (1, 2, 5, 10) if power * times >= raw * (1 - 1e-9))
    first = -floor(-low / step + 1e-9)
    return [round(step * i, 9) for i in range(first, floor(high / step + 1e-9) + 1)]
