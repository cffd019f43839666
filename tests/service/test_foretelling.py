"""What physics says of the boats, beside a running rig."""

from threading import Event

import pytest

from rig.physics.drawing import example
from rig.physics.hulls import Box
from rig.service.foretelling import Foreteller
from rig.service.told import trial_told
from rig.setup import Boat, Item, RigSetup
from rig.trial.foretold import foretell
from rig.trial.trial import Trial

WASHER = Item(name="washer", mass_g=2.5)


@pytest.fixture
def foretell_all():
    """`foretell_all(boats)`: the foreteller, when all are done."""
    made = []

    def work(boats):
        done, left = Event(), [len(boats)]

        def one():
            left[0] -= 1
            if not left[0]:
                done.set()

        teller = Foreteller(WASHER, one)
        made.append(teller)
        for boat in boats:
            teller.ask(boat)
        assert done.wait(30)
        return teller

    yield work
    for teller in made:
        teller.close()


def test_each_boat_is_told_as_physics_says(foretell_all):
    boats = [Boat("A", example("box"), 20.0), Boat("B", Box(100, 60, 30), 500.0)]
    teller = foretell_all(boats)
    told = teller.told()
    found = foretell(boats[0], WASHER)
    assert told["A"]["words"] == found.outlook.words
    assert (told["A"]["low_items"], told["A"]["high_items"]) == found.likely_items
    assert [line["share"] for line in told["A"]["lines"]] == [
        line.share for line in found.bill.lines if line.sd_g > 0
    ]
    assert list(told["B"]) == ["trouble"] and "goes down empty" in told["B"]["trouble"]
    assert teller.of("A") == found and teller.of("B") is None and teller.of("C") is None


def test_after_closing_nothing_begins(foretell_all):
    teller = foretell_all([Boat("A", example("box"), 20.0)])
    teller.close()
    teller.ask(Boat("B", example("box"), 20.0))
    assert list(teller.told()) == ["A"]


SETUP = RigSetup.model_validate(
    {
        "rig": {"name": "by hand", "layout": "feed-tray"},
        "load": {"zero_count": 0, "count_per_g": 400},
    }
)


def hull_told(boat):
    return trial_told(Trial(SETUP, boat.label, boat), 1, WASHER, None, foretell(boat, WASHER))[
        "hull"
    ]


def test_a_boat_that_does_not_stand_upright_is_drawn_leaning():
    """A plank on edge, 30 mm wide and 60 high, that draws 20 mm empty, is no upright boat:
    KB 10 mm + BM 30^2 / (12 x 20) = 3.75 mm, well below the middle of its own mass."""
    stiff = hull_told(Boat("A", example("box"), 20.0))
    assert (stiff["heel_deg"], stiff["sunk_mm"]) == (0.0, None)
    crank = hull_told(Boat("B", Box(200, 30, 60), 120.0))
    assert abs(crank["heel_deg"]) > 5 and 0 < crank["sunk_mm"] < 60
    assert crank["bodies_mm"] == [[list(corner) for corner in Box(200, 30, 60).ends_mm()[0]]]
