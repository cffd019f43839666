"""One hull of every family, in sizes children build, and a few that are odd."""

from collections.abc import Callable

import numpy as np
import pytest

from rig.physics.hulls import (
    Bowl,
    Box,
    Brimful,
    Dish,
    Hull,
    Mesh,
    Raft,
    Sections,
    Tray,
    Trough,
    Tubes,
    Twin,
    Vee,
)

KEEL = (0.0, [(-60, 0), (70, 0)])
MIDDLE = (18.0, [(-70, -25), (40, -25), (85, 0), (40, 25), (-70, 25)])
RIM = (40.0, [(-75, -38), (45, -38), (80, -15), (95, 0), (80, 15), (45, 38), (-75, 38)])


def _hollow_box(notch: float = 0.0) -> Mesh:
    """160 x 90 x 40 mm with walls of 3 mm; one corner of the rim lower by `notch`."""
    length, beam, depth, wall = 160, 90, 40, 3

    def ring(x: float, y: float, z: float) -> list[tuple[float, float, float]]:
        return [(-x, -y, z), (x, -y, z), (x, y, z), (-x, y, z)]

    x, y = length / 2, beam / 2
    points = ring(x, y, 0) + ring(x, y, depth) + ring(x - wall, y - wall, depth)
    points += ring(x - wall, y - wall, wall)
    for low in (4, 8):  # outer and inner rim at the same corner
        points[low] = (*points[low][:2], depth - notch)
    faces: list[tuple[int, int, int]] = []

    def quad(a: int, b: int, c: int, d: int) -> None:
        faces.extend([(a, b, c), (a, c, d)])

    quad(3, 2, 1, 0)
    for i in range(4):
        j = (i + 1) % 4
        quad(i, j, 4 + j, 4 + i)
        quad(4 + i, 4 + j, 8 + j, 8 + i)
        quad(8 + i, 8 + j, 12 + j, 12 + i)
    quad(12, 13, 14, 15)
    return Mesh(np.array(points, dtype=float)[np.array(faces)])


HULLS: dict[str, Hull] = {
    "box": Box(150, 100, 40),
    "tray": Tray(180, 120, 140, 70, 35),
    "tray narrowing": Tray(100, 80, 130, 95, 50),
    "dish": Dish(160, 100, 45),
    "cup": Dish(70, 52, 80),
    "bowl": Bowl(120, 45),
    "half sphere": Bowl(100, 50),
    "round jar": Bowl(80, 60),
    "trough": Trough(160, 90, 45),
    "flat trough": Trough(160, 90, 20),
    "lying tin": Trough(120, 70, 60),
    "vee": Vee(160, 90, 45),
    "straws": Tubes(12, 12, 200),
    "bottles": Tubes(3, 65, 210),
    "raft": Raft(200, 120, 25),
    "brimful": Brimful(170, 110, 40, 480),
    "brimful cone": Brimful(120, 120, 50, 210, 0.79),
    "brimful block": Brimful(100, 80, 40, 310),
    "twin boxes": Twin(Box(160, 45, 40), 110),
    "twin troughs": Twin(Trough(160, 50, 25), 80),
    "sections": Sections.drawn([KEEL, MIDDLE, RIM]),
    "mesh": _hollow_box(),
}


@pytest.fixture(params=HULLS.values(), ids=HULLS)
def hull(request: pytest.FixtureRequest) -> Hull:
    found: Hull = request.param
    return found


@pytest.fixture(params=[n for n, h in HULLS.items() if h.floods])
def open_hull(request: pytest.FixtureRequest) -> Hull:
    """All but the rafts."""
    return HULLS[request.param]


@pytest.fixture
def hollow_box() -> Callable[..., Mesh]:
    """An open box with walls, as a mesh; `notch` lowers one corner of its rim."""
    return _hollow_box
