"""The check before class: bands of OIML R 76 at the rig's own interval, and one item."""

from dataclasses import replace

import pytest

from rig.errors import OutOfRange
from rig.sensing.procedures.check_job import interval
from rig.simulator.true_cell import TrueCell

SOUND = TrueCell(place_sd_g=0.03)
OPTIONS = {"mass": "M2 200 g"}


def check(played, cell=SOUND, seed=1, options=None, true_g=None):
    session = played("check", options or OPTIONS, cell, seed, true_g)
    outcome = session.outcome()
    return outcome, {finding.about: finding for finding in outcome.findings}


@pytest.mark.parametrize("seed", range(12))
def test_a_sound_scale_is_right_for_class(played, seed):
    outcome, found = check(played, seed=seed)
    assert outcome.ok and outcome.says[-1] == "The scale is right for class."
    assert list(found) == ["the mass itself", "known mass", "repeatability", "corner", "creep",
                           "zero return", "one item"]  # fmt: skip
    # washers of 2.5 g: e = 1 g, not above half of one; 200 e: 0.5 e (R 76-1:2006, Table 6)
    assert found["known mass"].limit_g == 0.5 and found["creep"].limit_g == 0.5
    assert outcome.sets == {}


@pytest.mark.parametrize(
    ("noise_g", "item_g", "e_g"),
    [
        (0.01, 2.5, 1.0),  # the item decides: at most half of it
        (0.01, None, 0.1),  # without one the noise does: ten of it
        (0.03, None, 0.5),
        (0.5, 2.5, 5.0),  # too noisy for the item: judged by what can be
        (0.0, 10.0, 5.0),
    ],
)
def test_the_interval_comes_from_noise_and_need(noise_g, item_g, e_g):
    assert interval(noise_g, item_g) == e_g


@pytest.mark.parametrize(
    ("cell", "named"),
    [
        (replace(SOUND, per_g=430 * 1.01), {"known mass", "one item"}),
        (replace(SOUND, corner_g=1.0), {"corner"}),
        (replace(SOUND, corner_g=-1.0), {"corner"}),
        (replace(SOUND, drift=2.5), {"zero return"}),
    ],
)
def test_each_part_is_named_by_itself(played, cell, named):
    outcome, _ = check(played, cell)
    assert {finding.about for finding in outcome.findings if not finding.ok} == named
    assert all(about in outcome.says[-1] for about in named)
    assert all(finding.do for finding in outcome.findings if not finding.ok)


def test_only_the_bad_corner_is_named(played):
    outcome, _ = check(played, replace(SOUND, corner_g=1.0))
    (corner,) = [f for f in outcome.findings if not f.ok]
    assert corner.place == "front left corner" and corner.off_g == pytest.approx(1, abs=0.15)


@pytest.mark.parametrize("off_g", [-0.4, 0.4, -0.6, 0.6])
def test_the_band_ends_where_it_says(played, off_g):
    cell = replace(SOUND, place_sd_g=0.0, noise=5, per_g=430 * (1 + off_g / 200))
    _, found = check(played, cell)
    assert found["known mass"].ok is (abs(off_g) < 0.5)


def test_creep_is_named(played):
    _, found = check(played, replace(SOUND, creep_part=0.01))
    assert not found["creep"].ok and found["creep"].off_g == pytest.approx(1.5, abs=0.3)


def test_a_scale_that_does_not_repeat(played):
    _, found = check(played, replace(SOUND, place_sd_g=2.0))
    assert not found["repeatability"].ok and not found["one item"].ok


def test_noise_alone_never_breaks_a_band_but_hides_an_item(played):
    outcome, found = check(played, replace(SOUND, noise=2150))  # 5 g a word
    assert [f.about for f in outcome.findings if not f.ok] == ["one item"]
    assert "hold longer" in found["one item"].do


def test_a_mass_that_is_not_known_well_enough(played):
    """R 76-1:2006, 3.7.1 (from memory): at most a third of the error allowed."""
    _, found = check(played, options={"mass": "200 g +- 0.2 g"})
    assert not found["the mass itself"].ok
    _, found = check(played, options={"mass": "200 g +- 0.16 g"})
    assert found["the mass itself"].ok


def test_a_cell_wired_the_other_way_round(played, setup):
    from rig.sensing.procedures.jobs import make_job
    from rig.sensing.procedures.session import Session
    from rig.simulator.true_cell import play

    load = setup.load.model_copy(update={"count_per_g": -430.0})
    session = Session(make_job("check", OPTIONS), setup.model_copy(update={"load": load}))
    play(session, replace(SOUND, per_g=-430.0, creep_part=0.01), 1)
    found = {finding.about: finding for finding in session.outcome().findings}
    assert found["known mass"].ok and found["creep"].off_g > 1


def test_too_early(played, setup):
    session = played("check", OPTIONS)
    del session.taken[1:]
    with pytest.raises(OutOfRange, match="not been weighed"):
        session.outcome()


def test_stopped_half_way_the_parts_done_are_judged(played):
    session = played("check", OPTIONS)
    del session.taken[4:]
    abouts = [finding.about for finding in session.outcome().findings]
    assert abouts == ["the mass itself", "known mass", "repeatability", "creep", "one item"]
