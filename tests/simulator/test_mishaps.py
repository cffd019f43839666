"""Hands where they should not be: what the cell and the gauges feel, and what is really aboard."""

from itertools import pairwise

import pytest

from rig.errors import SetupInvalid
from rig.sensing.readings import Calibration
from rig.sensing.sentences import Identity
from rig.sensing.stream import Sample, Stream
from rig.setup.tomlfile import validated
from rig.simulator.bench import Bench
from rig.simulator.conditions import Fate, Motion
from rig.simulator.disturbances import Disturbance
from rig.simulator.hands import Plan


def played(setup, conditions, boat, plan, for_s, fate=None):
    """Readings by time since the hands began (board rows every 0.1 s), and the bench."""
    bench = Bench(setup, conditions)
    bench.place_boat(boat, fate, items=100)
    bench.load_with(plan)
    stream, calibration, readings = Stream(), Calibration(setup), []
    for _ in range(round(for_s * 10)):
        for item in stream.feed(bench.row()):
            if isinstance(item, Identity):
                calibration = Calibration(setup, item)
            elif isinstance(item, Sample):
                readings.append((bench.now_s, calibration.reading(item)))
    return readings, bench


def on_cell(setup):
    data = setup.model_dump()
    data["rig"]["layout"] = "tub-on-cell"
    return setup.model_validate(data)


def gross(readings, at_s):
    return next(r.gross_g for now_s, r in readings if now_s >= at_s - 1e-6)


def only(*disturb):
    return Plan(disturb=tuple(Disturbance(**d) for d in disturb))


@pytest.mark.parametrize("by_g", [300.0, 20.0, -20.0, -200.0])
def test_a_hand_presses_or_lifts_for_its_time_and_leaves_nothing(setup, still, boat, by_g):
    plan = only({"kind": "press", "at_s": 2.0, "for_s": 1.5, "by_g": by_g})
    readings, bench = played(setup, still, boat, plan, 6)
    assert gross(readings, 1.9) == pytest.approx(310, abs=0.01)
    assert gross(readings, 2.7) == pytest.approx(310 + by_g, abs=0.01)
    assert gross(readings, 3.6) == pytest.approx(310, abs=0.01)
    assert bench.world.vessel.load_g == 0
    assert bench.hands.additions == []


def test_a_tray_cannot_be_lifted_off_further_than_off(setup, still, boat):
    plan = only({"kind": "press", "at_s": 2.0, "for_s": 1.5, "by_g": -400.0})
    readings, _ = played(setup, still, boat, plan, 3)
    assert gross(readings, 2.8) == pytest.approx(0, abs=0.01)


def test_a_leaning_child_pushes_slowly_and_shakes(setup, still, boat):
    lean = {"kind": "lean", "at_s": 2.0, "for_s": 10.0, "by_g": 4.0}
    readings, _ = played(setup, still, boat, only(lean), 14)
    assert gross(readings, 2.5) - 310 == pytest.approx(4.0 / 3, rel=0.35)  # still leaning in
    assert 3.1 < gross(readings, 7.0) - 310 < 4.9  # a fifth to and fro
    assert gross(readings, 12.2) == pytest.approx(310, abs=0.01)
    readings, _ = played(setup, still, boat, only({**lean, "shake_g": 1.5}), 14)
    shaken = [r.gross_g for now_s, r in readings if 4 <= now_s < 10]
    jumps = [abs(b - a) for a, b in pairwise(shaken)]
    assert 0.8 < sum(jumps) / len(jumps) < 2.6  # 1.5 x 2 / sqrt(pi) is 1.7


def test_a_nudge_rings_in_the_gauges_and_under_the_tub(setup, still, boat):
    plan = only({"kind": "nudge", "at_s": 2.0, "by_mm": 6.0, "by_g": 50.0})
    for rig in (setup, on_cell(setup)):
        readings, bench = played(rig, still, boat, plan, 8)
        level_mm, gross_g = readings[0][1].level_mm, readings[0][1].gross_g
        swung_mm = [abs(r.level_mm - level_mm) for now_s, r in readings if 2 <= now_s < 3]
        late_mm = [abs(r.level_mm - level_mm) for now_s, r in readings if now_s > 6]
        assert 3 < max(swung_mm) < 6.1
        assert max(late_mm) < 0.1
        swung_g = max(abs(r.gross_g - gross_g) for now_s, r in readings if 2 <= now_s < 3)
        assert swung_g < 0.01 if rig is setup else 25 < swung_g < 51
        assert bench.world.vessel.gone_at_s is None


@pytest.mark.parametrize("channel", ["surface", "rim"])
def test_a_hand_in_the_beam_is_nearer_than_what_it_hides(setup, still, boat, channel):
    plan = only({"kind": "beam", "at_s": 2.0, "for_s": 0.8, "up_mm": 150.0, "channel": channel})
    readings, _ = played(setup, still, boat, plan, 4)
    seen = [(r.level_mm, r.rim_mm) for now_s, r in readings if 2.05 < now_s < 2.75]
    free = [(r.level_mm, r.rim_mm) for now_s, r in readings if now_s > 2.85]
    level_mm, rim_mm = free[-1]
    for level, rim in seen:
        if channel == "surface":
            assert (level - level_mm, rim) == pytest.approx((150.0, rim_mm), abs=0.01)
        else:  # read as a rim: the flag's 60 mm are taken off
            assert (level, rim - level_mm) == pytest.approx((level_mm, 90.0), abs=0.01)
    assert all(now == pytest.approx(free[-1], abs=0.01) for now in free)


@pytest.mark.parametrize("layout", ["feed-tray", "tub-on-cell"])
def test_an_item_put_on_and_taken_back_is_no_addition(setup, still, boat, layout):
    rig = setup if layout == "feed-tray" else on_cell(setup)
    sign = -1 if layout == "feed-tray" else 1
    plan = only({"kind": "loan", "at_s": 2.0, "for_s": 2.5})
    readings, bench = played(rig, still, boat, plan, 6)
    empty_g = gross(readings, 1.0)
    assert gross(readings, 3.0) - empty_g == pytest.approx(sign * 2.5, abs=0.01)
    assert gross(readings, 5.0) == pytest.approx(empty_g, abs=0.01)
    assert bench.hands.additions == []
    ((lent, back_s),) = bench.hands.mishaps.returned
    assert (lent.at_s, lent.mass_g, back_s) == pytest.approx((2.0, 2.5, 4.5), abs=0.02)
    assert bench.world.vessel.load_g == pytest.approx(0)
    assert len(bench.world.tray) == 100


def test_hands_are_not_done_while_something_is_lent(setup, still, boat):
    plan = only({"kind": "loan", "at_s": 2.0, "for_s": 2.5})
    assert not played(setup, still, boat, plan, 3)[1].hands.done
    assert played(setup, still, boat, plan, 5)[1].hands.done


def test_an_item_that_was_lent_to_a_boat_that_sinks_stays_aboard(setup, still, boat):
    loan = Disturbance(kind="loan", at_s=2.0, for_s=3.0)
    plan = Plan(((1.0, 65),), disturb=(loan,))  # 66 are one too many
    _, bench = played(setup, still, boat, plan, 8)
    assert bench.world.vessel.fortune == "swamped"
    assert [(a.items, a.mass_g) for a in bench.hands.additions] == [(65, 162.5), (1, 2.5)]
    assert bench.hands.mishaps.returned == []
    assert bench.hands.done


def test_a_dropped_item_leaves_the_tray_and_not_the_water(setup, still, boat):
    """On the floor it is gone; in the tub it raises the level by its own volume."""
    for into, rise_mm in (("floor", 0.0), ("water", 2.5 / 7.8 * 1000 / 66000)):
        plan = only({"kind": "drop", "at_s": 2.0, "into": into})
        bench = Bench(setup, still)
        bench.place_boat(boat, items=100)
        bench.load_with(plan)
        level_mm, draft_mm = bench.world.level_mm, bench.world.vessel.draft_mm
        for _ in range(30):
            bench.row()
        assert bench.world.gross_g == pytest.approx(60 + 99 * 2.5)
        assert bench.world.vessel.load_g == 0
        assert bench.world.vessel.draft_mm == draft_mm
        assert bench.world.level_mm - level_mm == pytest.approx(rise_mm)
        assert [(d.mass_g, d.where) for d in bench.hands.mishaps.dropped] == [(2.5, into)]
        assert bench.hands.additions == []


@pytest.mark.parametrize(("into", "more_g"), [("floor", 0.0), ("water", 2.5)])
def test_a_tub_on_the_cell_bears_what_fell_into_it(setup, still, boat, into, more_g):
    plan = only({"kind": "drop", "at_s": 2.0, "into": into})
    readings, bench = played(on_cell(setup), still, boat, plan, 4)
    assert gross(readings, 3.0) - gross(readings, 1.0) == pytest.approx(more_g, abs=0.01)
    bench.take_everything_out()
    assert bench.world.gross_g == pytest.approx(gross(readings, 1.0) - 15, abs=0.01)


def test_nothing_is_lent_to_a_boat_that_has_gone(setup, still, boat):
    plan = Plan(((1.0, 40),), disturb=(Disturbance(kind="loan", at_s=3.0, for_s=1.0),))
    _, bench = played(setup, still, boat, plan, 6, Fate(heels_at_g=90.0))
    assert bench.hands.mishaps.lent is None
    assert [a.items for a in bench.hands.additions] == [40]


def test_disturbances_do_not_move_the_other_hands(setup, still, boat):
    wavy = still.model_copy(update={"motion": Motion()})
    press = Disturbance(kind="press", at_s=2.0, by_g=50.0)
    calm, pressed = (
        played(setup, wavy, boat, Plan(then=(2.5, 5), disturb=d), 20)[1] for d in ((), (press,))
    )
    assert calm.hands.additions == pressed.hands.additions
    assert calm.world.surface_mm == pressed.world.surface_mm


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"kind": "press"}, "by_g"),
        ({"kind": "nudge"}, "by_mm"),
        ({"kind": "shout"}, "kind"),
        ({"kind": "loan", "for_s": 0}, "for_s"),
    ],
)
def test_a_disturbance_that_would_do_nothing_is_refused(keys, words):
    with pytest.raises(SetupInvalid, match=words):
        validated(Disturbance, {"at_s": 1.0, **keys}, "mine.toml")
