"""Boats that do not lie level: the surface that balances their weight, and righting arms.

Nothing here takes an angle for small. Positive heel lowers the side of positive y, positive trim
the end of positive x.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import cos, pi, radians, sin
from typing import Literal

from rig.errors import OutOfRange
from rig.physics.flotation import draft_for_volume
from rig.physics.hulls import Displaced, Hull, Surface
from rig.physics.hulls.numeric import root
from rig.physics.hulls.outline import Circle
from rig.physics.stability import free_surface_loss_mm, initial_stability
from rig.physics.walls import inside
from rig.physics.weights import Weight, centre_of_gravity

Toward = Literal["across", "along"]  # athwartships (heel) or fore and aft (trim)
STEEPEST_DEG = 80.0  # beyond it a boat counts as turned over


@dataclass(frozen=True)
class Laden:
    """A hull with everything that presses on it.

    Attributes:
        weights: the boat itself and its loads (`rig.physics.weights`).
        slack_ml: water in the boat, free to run to the low side [ml].
        wall_mm: thickness of walls and bottom, for the room that this water has [mm].
    """

    hull: Hull
    weights: Sequence[Weight]
    density_g_ml: float
    slack_ml: float = 0.0
    wall_mm: float = 0.0

    @cached_property
    def mass_g(self) -> float:
        """All that presses down, water inside included [g]."""
        return sum(w.mass_g for w in self.weights) + self.slack_ml * self.density_g_ml

    @cached_property
    def draft_mm(self) -> float:
        """Level draft [mm]. Raises OutOfRange if it goes down."""
        return draft_for_volume(self.hull, self.mass_g / self.density_g_ml)

    @cached_property
    def hold(self) -> Hull:
        """The room for water inside. Raises OutOfRange."""
        return inside(self.hull, self.wall_mm)

    @cached_property
    def gm_mm(self) -> float:
        """Height of the metacentre above the centre of gravity, water inside allowed for [mm].

        Above 0: it stands upright against a small push. GM = KB + BM - KG - loss.
        """
        heights = initial_stability(self.hull, self.draft_mm)
        loss = 0.0
        if self.slack_ml > 0:
            level = draft_for_volume(self.hold, self.slack_ml)
            loss = free_surface_loss_mm(self.hold, level, self.density_g_ml, self.mass_g)
        level_up = Surface((0.0, 0.0, 1.0), self.draft_mm)
        return heights.km_mm - self.centre(level_up).z_mm - loss

    def surface(self, up: tuple[float, float, float]) -> tuple[Surface, Displaced]:
        """Return the surface of that direction at which the boat displaces its weight.

        Raises:
            OutOfRange: it is too heavy to float.
        """
        return surface_for(self.hull, up, self.mass_g / self.density_g_ml, self.draft_mm)

    def centre(self, surface: Surface) -> Weight:
        """Return the common centre of gravity under a surface, to which the slack is parallel."""
        if self.slack_ml <= 0:
            return centre_of_gravity(self.weights)
        hold = self.hold
        level = draft_for_volume(hold, self.slack_ml)
        _, water = surface_for(hold, surface.up, self.slack_ml, level)
        slack = Weight(
            self.slack_ml * self.density_g_ml, water.x_mm, water.y_mm, water.z_mm + self.wall_mm
        )
        return centre_of_gravity([*self.weights, slack])


def surface_for(
    hull: Hull, up: tuple[float, float, float], volume_ml: float, draft_mm: float
) -> tuple[Surface, Displaced]:
    """Return the surface of a direction below which a hull has a volume, and that volume.

    Args:
        up: the true vertical in the boat's axes, a unit vector.
        draft_mm: the level draft at that volume, where the search begins [mm].

    Raises:
        OutOfRange: the hull has less volume than that.
    """
    found: dict[float, Displaced] = {}

    def excess(height: float) -> float:
        found[height] = hull.below(Surface(up, height))
        return found[height].volume_ml - volume_ml

    x = max(abs(x) for x, _ in hull.profile_mm())
    y = max(abs(y) for corners in hull.ends_mm() for y, _ in corners)
    lean = abs(up[0]) * x + abs(up[1]) * y
    low, high = -lean, lean + abs(up[2]) * hull.depth_mm
    middle = up[2] * draft_mm
    f_middle = excess(middle)
    size = max(hull.depth_mm, high - low)
    if abs(f_middle) <= 1e-13 * volume_ml:
        return Surface(up, middle), found[middle]
    step = 1500 * f_middle * abs(up[2]) / hull.rim_mm2() + 1e-6 * size * (1 if f_middle > 0 else -1)
    near = min(max(middle - step, low), high)
    f_near = excess(near)
    if f_near * f_middle > 0:  # not far enough: the whole hull
        near = low if f_middle > 0 else high
        f_near = excess(near)
    if f_near * f_middle > 0:
        raise OutOfRange(
            f"This hull displaces {volume_ml + f_near:.1f} ml at most, not {volume_ml:.1f} ml.",
            "Take some load off, or measure the hull again.",
        )
    height = root(excess, near, middle, f_near, f_middle, 1e-13 * size)
    if height not in found:
        excess(height)
    return Surface(up, height), found[height]


def vertical(angle_deg: float, toward: Toward = "across") -> tuple[float, float, float]:
    """Return the true vertical in the axes of a boat heeled (across) or trimmed (along)."""
    turn = radians(angle_deg)
    return (0.0, -sin(turn), cos(turn)) if toward == "across" else (-sin(turn), 0.0, cos(turn))


def level_line(angle_deg: float, toward: Toward = "across") -> tuple[float, float, float]:
    """Return the level direction to the low side, in the boat's axes."""
    turn = radians(angle_deg)
    return (0.0, cos(turn), sin(turn)) if toward == "across" else (cos(turn), 0.0, sin(turn))


def righting_arm_mm(boat: Laden, angle_deg: float, toward: Toward = "across") -> float:
    """Return GZ, the lever by which buoyancy turns the boat back [mm]; below 0 it turns it on.

    Heel without trim, or trim without heel; exact for the hull's form.

    Args:
        angle_deg: less than 90 either way [degrees].

    Raises:
        OutOfRange: it is too heavy to float.

    Source:
        definition of GZ: C.B. Barrass and D.R. Derrett, Ship Stability for Masters and Mates.
    """
    surface, displaced = boat.surface(vertical(angle_deg, toward))
    line = level_line(angle_deg, toward)
    g = boat.centre(surface)
    return displaced.along(line) - (g.x_mm * line[0] + g.y_mm * line[1] + g.z_mm * line[2])


def rim_freeboard_mm(
    hull: Hull, surface: Surface, points: int = 64
) -> list[tuple[float, float, float]]:
    """Return (x, y, freeboard) along the rim, freeboard straight up from the water [mm].

    Args:
        points: how many around a round rim; corners and points between them for others.
    """
    z = hull.depth_mm
    return [(x, y, surface.above_mm(x, y, z)) for x, y in _around(hull, points)]


def lowest_rim_mm(hull: Hull, surface: Surface) -> float:
    """Return how high the lowest rim point stands above the water, exactly; below 0 under it."""
    return surface.lowest_mm(hull.rim(), hull.depth_mm)


def _around(hull: Hull, points: int) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for part in hull.rim():
        if isinstance(part, Circle):
            turns = [2 * pi * i / points for i in range(points)]
            found += [
                (part.x_mm + part.radius_mm * cos(t), part.y_mm + part.radius_mm * sin(t))
                for t in turns
            ]
        else:
            between = max(1, points // len(part))
            for (ax, ay), (bx, by) in zip(part, (*part[1:], part[0]), strict=True):
                found += [
                    (ax + (bx - ax) * i / between, ay + (by - ay) * i / between)
                    for i in range(between)
                ]
    return found
