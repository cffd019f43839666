"""Surface, rim and tub: heights by ruler and jugs, on gauges whose truth is known."""

from random import Random

import pytest

from rig.errors import OutOfRange
from rig.physics.air import speed_of_sound
from rig.sensing.procedures.jobs import make_job
from rig.sensing.procedures.session import Phase, Session
from rig.sensing.sentences import Identity
from rig.sensing.stream import Sample

US = Identity("board", "1", 10.0, (("load", "count"), ("surface", "us"), ("rim", "us")))


def um(distance_mm):
    return 1000 * distance_mm


def us(air_c):
    return lambda distance_mm: 2000 * distance_mm / speed_of_sound(air_c)


def measured(job, setup, height_of, hangs_mm, raw_of=um, noise_mm=0.3, seed=1, identity=None):
    """Play a job: `height_of(number, known)` is what the gauge sees really."""
    rng, at_ms = Random(seed), 0
    session = Session(job, setup, identity)
    while session.phase is not Phase.DONE:
        number, taken = len(session.taken), len(session.taken)
        mm = height_of(number, session.step.known.value)
        at_ms += 3000
        session.act("ready")
        while session.phase is Phase.READING and len(session.taken) == taken:
            at_ms += 100
            word = round(raw_of(hangs_mm - mm + rng.gauss(0, noise_mm)))
            rim = word if job.channel == "rim" else None
            surface = word if job.channel == "surface" else None
            session.feed(Sample(at_ms, None, surface, rim, None))
        assert len(session.taken) > taken or session.phase is Phase.DONE, session.trouble
    return session.outcome()


def ruler(seed, mm=0.15):
    """How a person reads it, anew each time."""
    rng = Random(f"ruler {seed}")
    return lambda number, known: known + rng.gauss(0, mm)


def heights(kind="surface", **more):
    return make_job(kind, {"heights": [20, 50, 80, 110], **more})


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("kind", ["surface", "rim"])
def test_the_gauges_height_is_found_and_nothing_is_to_mend(setup, seed, kind):
    outcome = measured(heights(kind), setup, ruler(seed), 397.3, seed=seed)
    assert outcome.ok, [f.says for f in outcome.findings if not f.ok]
    found = outcome.sets[kind]
    assert found["height_mm"] == pytest.approx(397.3, abs=3 * found["height_mm_sd"])
    assert "air_c" not in found


def test_the_interval_of_the_height_covers_the_truth(setup):
    inside = 0
    for seed in range(200):
        own = Random(f"its own {seed}").gauss(0, 0.5 / 6**0.5)
        read = ruler(seed, 0.5 / 6**0.5)
        see = lambda n, known, read=read, own=own: read(n, known) + own  # noqa: E731
        found = measured(heights(), setup, see, 397.3, seed=seed).sets["surface"]
        inside += abs(found["height_mm"] - 397.3) <= 1.96 * found["height_mm_sd"]
    assert 180 <= inside <= 199  # 95 % of 200: 190 +- 3


def test_an_echo_gauge_needs_the_airs_temperature(setup):
    """Cramer's speed of sound at 25 deg C, 346.8 m/s at half humidity: 0.9 % more than at 20."""
    right = measured(heights(air_c=25), setup, ruler(1), 400.0, us(25.0), identity=US)
    assert right.ok and right.sets["surface"]["air_c"] == 25
    assert right.sets["surface"]["height_mm"] == pytest.approx(400, abs=0.6)
    cold = measured(heights(air_c=5), setup, ruler(1), 400.0, us(25.0), identity=US)
    (scale,) = [f for f in cold.findings if not f.ok]
    assert scale.about == "scale" and scale.right_at_c == pytest.approx(25, abs=3)
    assert "25" in scale.do or "24" in scale.do or "26" in scale.do


def test_a_float_that_sticks_is_a_dead_band(setup):
    stuck = lambda number, known: 50.0 if number in (1, 2) else known  # noqa: E731
    outcome = measured(heights(), setup, stuck, 400.0)
    bands = [f for f in outcome.findings if f.about == "dead band"]
    assert [(band.before, band.after) for band in bands] == [(50, 80)]
    assert outcome.contradicts == "dead band"


def test_a_ruler_read_wrongly_once(setup):
    wrong = lambda number, known: known + 8 * (number == 1)  # noqa: E731
    outcome = measured(heights(), setup, wrong, 400.0)
    assert "contradictory point" in outcome.contradicts


JUGS = {"jug_ml": 1000, "off_ml": 10, "jugs": [1, 2, 3, 4, 5, 6]}


def tapering(volume_ml):
    """Level of a bin of 550 cm2 at its floor, whose walls lean outward: 1 cm2 more each mm."""
    low, high = 0.0, 500.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if 55 * middle + 0.05 * middle**2 < volume_ml else (low, middle)
    return low


@pytest.mark.parametrize("seed", range(8))
def test_a_bin_gets_its_table(setup, seed):
    outcome = measured(
        make_job("tub", JUGS), setup, lambda _, known: tapering(known), 400.0, seed=seed
    )
    assert outcome.ok, [f.says for f in outcome.findings if not f.ok]
    pours = outcome.sets["tub"]["pours"]
    assert pours[0] == [0.0, 0.0] and outcome.sets["tub"]["area_mm2"] is None
    for level_mm, volume_ml in pours[1:]:
        assert 55 * level_mm + 0.05 * level_mm**2 == pytest.approx(volume_ml, abs=25)


@pytest.mark.parametrize("missed", [2, 3, 5])
def test_a_jug_that_was_missed_is_named(setup, missed):
    poured = lambda number, known: tapering(known - 1000 * (number >= missed))  # noqa: E731
    outcome = measured(make_job("tub", JUGS), setup, poured, 400.0)
    assert outcome.contradicts
    (found,) = [f for f in outcome.findings if not f.ok]
    ends = (
        (found.before, found.after) if found.about == "dead band" else (found.from_ml, found.to_ml)
    )
    assert ends == (1000 * (missed - 1), 1000 * missed)


def test_half_a_jug_too_few_is_a_contradictory_pour(setup):
    poured = lambda number, known: tapering(known - 400 * (number >= 3))  # noqa: E731
    outcome = measured(make_job("tub", JUGS), setup, poured, 400.0)
    (found,) = [f for f in outcome.findings if not f.ok]
    assert found.about == "contradictory pour" and (found.from_ml, found.to_ml) == (2000, 3000)


def test_a_float_on_the_floor_is_said_and_left_out(setup):
    floats = lambda number, known: max(8.0, tapering(known))  # noqa: E731
    outcome = measured(make_job("tub", JUGS), setup, floats, 400.0)
    (found,) = [f for f in outcome.findings if not f.ok]
    assert found.about == "empty tub" and found.level_mm == pytest.approx(8, abs=0.3)
    assert outcome.sets["tub"]["pours"][0][1] == 1000 and not outcome.contradicts


def test_a_level_that_falls_makes_no_table(setup):
    falls = lambda number, known: tapering(known) - 30 * (number == 4)  # noqa: E731
    outcome = measured(make_job("tub", JUGS), setup, falls, 400.0)
    assert not outcome.sets and "does not rise" in outcome.says[-1]


def test_without_a_surface_gauge_there_is_no_table(setup):
    bare = setup.model_copy(update={"surface": None})
    with pytest.raises(OutOfRange, match="no \\[surface\\]"):
        measured(make_job("tub", JUGS), bare, lambda _, known: known, 400.0)
