"""How fast hulls are worked out, beside a plain way of doing the same with scipy or trimesh.

    .venv/bin/python tests/benchmarks/hull_speed.py [--seconds 1]

Nothing here passes or fails; the figures are for reading. Ratios mean more than rates: they move
less with the machine and what else it does.
"""

import argparse
from collections.abc import Callable
from math import pi, sqrt
from random import Random
from time import perf_counter

import numpy as np
import trimesh
from scipy.integrate import quad
from scipy.optimize import brentq
from trimesh.intersections import slice_faces_plane

from rig.physics.equilibrium import settle
from rig.physics.flotation import capacity_g, draft_for_volume
from rig.physics.heeling import Laden
from rig.physics.hulls import Bowl, Box, Dish, Hull, Mesh, Surface, Tray, Trough, Vee
from rig.physics.weights import Weight, boat_weight
from rig.trial.events import CurvePoint, FreeboardMethod
from rig.trial.forecast import Forecast
from rig.trial.possible_boats import PossibleBoats

WATER = 0.9982
CUTS: list[tuple[Hull, Callable[[float], float]]] = [  # hull, area of its cut at a height [mm2]
    (Box(150, 100, 40), lambda z: 150 * 100),
    (Tray(180, 120, 140, 80, 35), lambda z: (140 + 40 * z / 35) * (80 + 40 * z / 35)),
    (Dish(160, 100, 45), lambda z: pi * (50 + 30 * z / 45) ** 2),
    (Bowl(100, 50), lambda z: pi * (100 - z) * z),
    (Trough(160, 90, 45), lambda z: 320 * sqrt((90 - z) * z)),
    (Vee(160, 90, 45), lambda z: 160 * 90 * z / 45),
]


def each_s(work: Callable[[], object], seconds: float) -> float:
    """Seconds one call takes, over about so many seconds; at least three calls."""
    calls, start = 0, perf_counter()
    while calls < 3 or perf_counter() - start < seconds:
        work()
        calls += 1
    return (perf_counter() - start) / calls


def told(name: str, ours_s: float, plain_s: float, plain: str) -> None:
    print(
        f"{name:34} {1 / ours_s:11,.0f} a second; {plain} {1 / plain_s:9,.0f};"
        f" ratio {plain_s / ours_s:7.1f}"
    )


def capacities(seconds: float) -> None:
    for hull, area_mm2 in CUTS:
        ours = each_s(lambda hull=hull: capacity_g(hull, 20.0, WATER), seconds)
        plain = each_s(
            lambda hull=hull, area=area_mm2: quad(area, 0, hull.depth_mm)[0] / 1000 * WATER - 20.0,
            seconds,
        )
        told(f"capacity of a {hull.family}", ours, plain, "scipy quad")
    body = trimesh.creation.cylinder(radius=80, height=45, sections=64)
    dish = Dish(160, 160, 45)
    vertices, faces = body.vertices, body.faces
    told(
        "capacity of a dish",
        each_s(lambda: capacity_g(dish, 20.0, WATER), seconds),
        each_s(lambda: trimesh.Trimesh(vertices, faces, process=False).volume, seconds),
        "trimesh   ",
    )


def drafts(seconds: float) -> None:
    hull, area = CUTS[1]
    wanted = 0.4 * hull.volume_ml(hull.depth_mm)
    told(
        "draft of a tray",
        each_s(lambda: draft_for_volume(hull, wanted), seconds),
        each_s(
            lambda: brentq(lambda d: quad(area, 0, d)[0] / 1000 - wanted, 0, hull.depth_mm), seconds
        ),
        "scipy     ",
    )


def forecasts(seconds: float) -> None:
    """One plateau into a forecast of two thousand hulls, and its answer."""
    hull, area = CUTS[1]
    boats = PossibleBoats(hull, 20.0)
    point = CurvePoint(0.0, 150.0, 0.1, None, 22.0, 0.3, FreeboardMethod.RIM_GAUGE, 6.0, True)

    def update() -> None:
        forecast.add(point)
        forecast.say(150.0)

    forecast = Forecast(boats, 2.5)
    ours = each_s(update, seconds)
    random = Random(1)
    some = [random.gauss(170, 1) for _ in range(50)]

    def plain() -> None:
        for wanted in some:
            brentq(lambda d, w=wanted: quad(area, 0, d)[0] / 1000 - w, 0, hull.depth_mm)

    told(
        f"forecast update, {len(boats)} hulls",
        ours,
        each_s(plain, seconds) * len(boats) / len(some),
        "scipy     ",
    )
    print(f"{'':34} {1000 * ours:11.2f} ms of the 100 ms between readings at 10 a second")


def tilted(seconds: float) -> None:
    body = trimesh.creation.icosphere(subdivisions=4, radius=50)
    mesh, surface = Mesh(np.array(body.triangles)), Surface.tilted(45, 12, 4)
    up = np.array(surface.up)
    moved = body.copy()
    moved.apply_translation([0, 0, 50])

    def plain() -> float:
        points, faces, _ = slice_faces_plane(
            moved.vertices, moved.faces, -up, up * surface.height_mm
        )
        return float(trimesh.Trimesh(points, faces, process=False).volume)

    mesh.below(surface)
    told(
        f"tilted volume, {len(body.faces)} triangles",
        each_s(lambda: mesh.below(surface), seconds),
        each_s(plain, seconds),
        "trimesh   ",
    )
    for hull, _ in CUTS:
        full = hull.volume_ml(hull.depth_mm)
        weights = (boat_weight(hull, 0.1 * full), Weight(0.35 * full, 2.0, 4.0, 6.0))
        boat = each_s(lambda h=hull, w=weights: settle(Laden(h, w, WATER)), seconds)
        print(f"{'heel and trim of a ' + hull.family:34} {1 / boat:11,.0f} a second")


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--seconds", type=float, default=1.0, help="for each figure")
    seconds = ask.parse_args().seconds
    capacities(seconds)
    drafts(seconds)
    forecasts(seconds)
    tilted(seconds)


if __name__ == "__main__":
    main()
