"""What goes in comes out: any bytes, any boat, any set-up, any result, to the last digit."""

from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rig.physics.hulls import FAMILIES
from rig.records import Block, Store
from rig.setup import Boat, RigSetup, boat_from_dict
from rig.trial.events import Addition, CurvePoint, FreeboardMethod, Outcome, TrialResult

MARK = Block(datetime(2026, 3, 2, tzinfo=UTC), b"start\n")
QUICK = settings(max_examples=40, deadline=None)  # each example commits to a real disk

finite = st.floats(allow_nan=False, allow_infinity=False)
length_mm = st.floats(1.0, 1000.0)
sd = st.floats(0.0, 1e3)
count = st.integers(0, 2**31 - 1)
words = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
seen = st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"])
labels = st.text(seen, min_size=1, max_size=30).filter(str.strip)
moments = st.datetimes(
    datetime(1970, 1, 2), datetime(2100, 1, 1), timezones=st.timezones(), allow_imaginary=False
)


@st.composite
def hulls(draw, family):
    """Any hull of a family that flares outwards, as they must."""
    keys = [measure.key for measure in family.measures]
    found = {}
    for key in keys:
        if key == "count":
            found[key] = draw(st.integers(1, 500))
        elif key == "fullness":
            found[key] = draw(st.floats(0.8, 1.0))
        elif key == "held_ml":
            block_ml = found["length_mm"] * found["beam_mm"] * found["depth_mm"] / 1000
            found[key] = block_ml * draw(st.floats(0.4, 0.7))
        else:
            found[key] = draw(st.floats(1.0, 500.0) if "bottom" in key else st.floats(500, 1000))
    return family(**found)


boats = st.builds(
    Boat,
    labels,
    st.one_of([hulls(family) for family in FAMILIES.values()]),
    sd,
    st.none() | st.integers(0, 999),
)
setups = st.fixed_dictionaries(
    {
        "rig": st.fixed_dictionaries(
            {"name": labels, "layout": st.sampled_from(["feed-tray", "tub-on-cell"])}
        ),
        "load": st.fixed_dictionaries(
            {"zero_count": finite, "count_per_g": finite.filter(bool), "zero_count_sd": sd}
        ),
    },
    optional={
        "surface": st.fixed_dictionaries({"height_mm": length_mm, "unit": st.just("us")}),
        "rim": st.fixed_dictionaries({"height_mm": length_mm, "flag_mm": sd}),
        "tub": st.one_of(
            st.fixed_dictionaries({"area_mm2": length_mm}),
            st.just({"pours": [(0.1 + 0.2, 0.0), (10.7, 1234.5678901234567), (99.9, 1e4 / 3)]}),
        ),
        "item": st.fixed_dictionaries({"name": labels, "mass_g": length_mm, "mass_sd_g": sd}),
    },
).map(RigSetup.model_validate)
results = st.builds(
    TrialResult,
    boat=labels,
    outcome=st.sampled_from(Outcome),
    reason=words,
    held_g=finite,
    held_g_sd=finite,
    held_items=st.none() | count,
    held_items_low=st.none() | count,
    held_items_high=st.none() | count,
    held_items_p=st.none() | st.floats(0, 1),
    sunk_at_s=st.none() | finite,
    predicted_capacity_g=st.none() | finite,
    predicted_capacity_items=st.none() | count,
    additions=st.lists(st.builds(Addition, finite, finite, st.none() | count), max_size=3).map(
        tuple
    ),
    curve=st.lists(
        st.builds(
            CurvePoint,
            at_s=finite,
            load_g=finite,
            load_g_sd=finite,
            items=st.none() | count,
            freeboard_mm=st.none() | finite,
            freeboard_mm_sd=st.none() | finite,
            method=st.none() | st.sampled_from(FreeboardMethod),
            lasted_s=finite,
            held=st.booleans(),
        ),
        max_size=3,
    ).map(tuple),
    warnings=st.lists(words, max_size=3).map(tuple),
)


def result_again(kept):
    """Build a TrialResult from what JSON gave back."""
    again = dict(kept)
    again["outcome"] = Outcome(kept["outcome"])
    again["additions"] = tuple(Addition(**addition) for addition in kept["additions"])
    again["curve"] = tuple(
        CurvePoint(**point | {"method": point["method"] and FreeboardMethod(point["method"])})
        for point in kept["curve"]
    )
    again["warnings"] = tuple(kept["warnings"])
    again["corrections"] = tuple(kept["corrections"])
    return TrialResult(**again)


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    """One file for all examples: trials do not disturb each other, and opening takes time."""
    with Store.open(tmp_path_factory.mktemp("data") / "records.sqlite3") as store:
        yield store, store.begin_run("Tub 1")


@QUICK
@given(chunks=st.lists(st.binary(max_size=200), max_size=8), identity=st.none() | st.binary())
def test_any_bytes(shared, chunks, identity):
    store, run_id = shared
    trial = store.begin_trial(
        run_id, boat={"label": "A"}, setup={}, identity=identity, start_mark=MARK
    )
    store.add_blocks(run_id, [Block(MARK.received_at, chunk) for chunk in chunks])
    recording = store.recording(trial.id)
    assert trial.identity == identity
    assert recording.endswith(b"start\n" + b"".join(chunks))
    head = recording.removesuffix(b"start\n" + b"".join(chunks))
    assert head in {identity or b"", (identity or b"") + b"\r\n"}


@QUICK
@given(boat=boats, setup=setups, result=results, moment=moments)
def test_any_boat_setup_result_and_moment(shared, boat, setup, result, moment):
    store, run_id = shared
    trial = store.begin_trial(
        run_id,
        boat=boat.as_dict(),
        setup=setup.model_dump(mode="json"),
        identity=None,
        start_mark=Block(moment, b"start\n"),
    )
    store.close_trial(trial.id, result.as_dict())
    kept = store.trial(trial.number)
    assert kept.boat_label == boat.label
    assert boat_from_dict(kept.boat) == boat
    assert RigSetup.model_validate(kept.setup) == setup
    # Two zones never compare equal in a repeated hour (PEP 495), so compare in one.
    assert kept.started_at_utc == moment.astimezone(UTC)
    assert result_again(kept.result) == result
    tabled = (kept.outcome, kept.held_g, kept.held_items, kept.sunk_at_s, kept.predicted_capacity_g)
    assert tabled == (
        result.outcome,
        result.held_g,
        result.held_items,
        result.sunk_at_s,
        result.predicted_capacity_g,
    )
