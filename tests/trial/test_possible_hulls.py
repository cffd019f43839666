"""Possible boats of every kind of hull, those that are not made of numbers alone included."""

import numpy as np
import pytest
import trimesh

from rig.physics.flotation import capacity_g
from rig.physics.hulls import FAMILIES, Box, Dish, Hull, Mesh, Sections, Tubes, Twin
from rig.physics.water import ROOM_C, water_density
from rig.setup import Boat
from rig.trial.doubts import freeboard_sd_by_ruler
from rig.trial.possible_boats import PossibleBoats
from rig.trial.prediction import predict

SKIN = [(80, 0), (40, 35), (-70, 35), (-70, -35), (40, -35)]
HULLS: dict[str, Hull] = {
    **{name: f(**{m.key: m.example for m in f.measures}) for name, f in FAMILIES.items()},
    "twin": Twin(Dish(90, 60, 40), 130),
    "sections": Sections.drawn([(0, [(-60, 0), (60, 0)]), (40, SKIN)]),
    "mesh": Mesh(np.array(trimesh.creation.box([160, 90, 40]).triangles)),
}
every = pytest.mark.parametrize("hull", HULLS.values(), ids=HULLS)


@every
def test_boats_scatter_about_the_measured_one(hull):
    full_g = hull.volume_ml(hull.depth_mm)
    boats = PossibleBoats(hull, 0.1 * full_g)
    level_g = capacity_g(hull, 0.1 * full_g, water_density(ROOM_C))
    careful = boats.carries_g[boats.careful]
    assert np.isfinite(boats.carries_g).all()
    assert np.percentile(careful, 2) < level_g < np.percentile(careful, 98)
    assert 0.005 < careful.std() / level_g < 0.15
    for part in (0.0, 0.5, 1.0, 1.2):
        freeboard_mm, mm_per_g = boats.freeboard_mm(part * level_g)
        assert np.isfinite(freeboard_mm).all()
        assert (mm_per_g > 0).all()
    lower, _ = boats.freeboard_mm(0.9 * level_g)
    higher, _ = boats.freeboard_mm(0.1 * level_g)
    assert (lower < higher).all()


@every
def test_the_prediction_and_its_band_are_whole(hull):
    boat = Boat("A", hull, 0.1 * hull.volume_ml(hull.depth_mm))
    told = predict(boat, PossibleBoats(hull, boat.mass_g), None)
    assert told.capacity_g > 0
    assert told.held_back_g > told.capacity_g
    assert [freeboard for _, freeboard in told.curve][-1] == 0
    assert told.band
    assert all(p.low_mm < p.median_mm < p.high_mm for p in told.band)


@every
def test_a_rulers_doubt_of_the_freeboard_is_some_millimetres(hull):
    half = 0.5 * hull.volume_ml(hull.depth_mm)
    assert 0.1 < freeboard_sd_by_ruler(hull, half) < 4


def test_counts_do_not_scatter():
    boats = PossibleBoats(Tubes(12, 30, 200), 30.0)
    # volumes differ by diameter and length alone: never by a whole tube (8 %) more than that
    spread = boats.carries_g[boats.careful]
    assert (spread.max() - spread.min()) / spread.mean() < 0.35


def test_a_twin_that_nearly_touches_still_gives_boats():
    boats = PossibleBoats(Twin(Box(160, 45, 40), 45.0), 30.0)
    assert (boats.carries_g > 0).all()
