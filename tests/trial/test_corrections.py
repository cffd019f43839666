"""Corrections of trials written by hand: what is told changes, what was weighed does not.

Box and water as in test_by_hand.py: a gram lowers the boat by 0.066786 mm and raises the level by
0.016697 mm; it carries 578.9 g. Pieces of 2.5 g (US Mint coin specifications page).
"""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rig.errors import CorrectionUnfit
from rig.sensing.sentences import Mark, encode
from rig.sensing.stream import OperatorMark, Stream
from rig.trial.corrections import (
    Afloat,
    Back,
    Merge,
    SetCount,
    Split,
    SunkAt,
    Void,
    corrected,
    parse,
    standing,
)
from rig.trial.curve import best_held
from rig.trial.engine import TrialEngine
from rig.trial.events import Corrected, Ended, Outcome, Warned

DROP, RISE, EMPTY = 0.066786, 0.016697, 38.664
BATCHES = (100, 60, 40, 30, 3)  # the last one, at 35 s, is too much
EACH_S = 7


def level(load_g):
    return 100 + RISE * load_g


def rim(load_g):
    return level(load_g) + EMPTY - DROP * load_g


def engine_of(tape, box, *fixes, batches=BATCHES, sinks=True, **how):
    """A trial played to its end, and its events; a negative batch is taken back."""
    tape = tape(boats=(box,), **how)
    tape.mark("start", "A")
    tape.rows(EACH_S, 0, level(0), rim(0))
    load_g = 0.0
    for i, items in enumerate(batches):
        load_g += 2.5 * items
        if sinks and i == len(batches) - 1:
            fall = (20 + load_g) * RISE - 80 / 60  # its solids are 80 ml
            tape.rows(
                8,
                load_g,
                lambda t, g=load_g, fall=fall: level(g) - fall * min(t / 1.5, 1),
                lambda t, g=load_g: max(40.0, rim(g) - 70 * t),
            )
        else:
            tape.rows(EACH_S, load_g, level(load_g), rim(load_g))
    tape.mark("stop")
    for text in fixes:
        tape.mark("fix", text)
    stream, engine = Stream(), TrialEngine(tape.setup, {"A": box})
    events = []
    for item in [*stream.feed(b"".join(tape.lines)), *stream.finish()]:
        events += engine.feed(item)
    return engine, events


@pytest.fixture(scope="module")
def trial(tape, box):
    """One trial for all: corrections never change it."""
    return engine_of(tape, box)[0].trial


@pytest.fixture(scope="module")
def slipped(tape, box):
    """Afloat at the end; ten pieces were taken back before that."""
    return engine_of(tape, box, batches=(100, 60, -10, 4), sinks=False)[0].trial


def items(result):
    return [addition.items for addition in result.additions]


def with_fixes(trial, *texts):
    return corrected(trial, [parse(text) for text in texts])


def test_the_trial_itself(trial):
    result = trial.result
    assert (result.outcome, result.held_items) == (Outcome.SWAMPED, 230)
    assert result.sunk_at_s == pytest.approx(35, abs=0.5) and items(result) == list(BATCHES)
    assert [a.at_s for a in result.additions] == pytest.approx([7, 14, 21, 28, 35], abs=0.15)
    assert with_fixes(trial) == result and result.corrections == ()


def test_two_additions_were_one(trial):
    result = with_fixes(trial, "merge,2")
    assert items(result) == [100, 100, 30, 3]
    assert result.additions[1].at_s == trial.result.additions[1].at_s
    assert result.additions[1].mass_g == pytest.approx(250, abs=0.2)
    one, other = trial.result.additions[1:3]
    assert result.additions[1].mass_g_sd == pytest.approx(
        (one.mass_g_sd**2 + other.mass_g_sd**2) ** 0.5  # independent weighings, GUM 5.1.2
    )
    assert result.corrections == ("Teacher: additions 2 and 3 were one.",)
    unchanged = replace(
        result, additions=trial.result.additions, corrections=trial.result.corrections
    )
    assert unchanged == trial.result


def test_one_addition_was_two(trial):
    result = with_fixes(trial, "split,2,20")
    assert items(result) == [100, 20, 40, 40, 30, 3]
    first, second = result.additions[1:3]
    assert first.at_s == second.at_s == trial.result.additions[1].at_s
    assert first.mass_g == pytest.approx(trial.result.additions[1].mass_g / 3)
    assert second.mass_g == pytest.approx(trial.result.additions[1].mass_g * 2 / 3)
    assert result.held_items == 230 and result.curve == trial.result.curve


def test_a_count_by_hand_is_sure_and_the_grams_stay(trial):
    result = with_fixes(trial, "count,1,97")
    assert items(result) == [97, 60, 40, 30, 3]
    assert result.additions[0].mass_g == trial.result.additions[0].mass_g
    assert (result.held_items, result.held_g) == (227, trial.result.held_g)
    assert [point.items for point in result.curve] == [0, 97, 157, 197, 227]
    assert result.corrections == ("Teacher: addition 1 was 97, not 100.",)
    assert result.reason == trial.result.reason


def test_all_counted_by_hand_is_certain(tape, box):
    """A heap of coins that fits no whole number is a range; counted out, it is a number."""
    heap = engine_of(tape, box, batches=(25.5, 50.4), sinks=False, item_g=2.5)[0].trial
    first = heap.result
    assert first.held_items_low < first.held_items < first.held_items_high
    one = with_fixes(heap, "count,1,22")
    assert one.held_items_low < one.held_items < one.held_items_high
    both = with_fixes(heap, "count,1,22", "count,2,44")
    assert (both.held_items_low, both.held_items, both.held_items_high) == (66, 66, 66)
    assert both.held_items_p == 1 and both.held_g == first.held_g


def test_what_was_taken_back_before_the_end_keeps_its_part_in_the_load_held(slipped):
    first = slipped.result
    assert items(first) == [100, 50, 4] and first.held_items == 160
    result = with_fixes(slipped, "count,1,90")
    assert (result.held_items_low, result.held_items, result.held_items_high) == (150, 150, 150)
    # At the time of the greatest load the second addition was another one, of 60: as weighed.
    assert with_fixes(slipped, "count,2,40").held_items == 160
    assert items(with_fixes(slipped, "count,2,40")) == [100, 40, 4]


def test_a_count_covers_a_whole_addition_or_nothing(trial):
    """4 and 5 are one and were 40: when 4 alone was aboard, its weight still counts."""
    result = with_fixes(trial, "merge,4", "count,4,40")
    assert items(result) == [100, 60, 40, 40] and result.held_items == 230


@pytest.mark.parametrize(
    ("at_s", "held_items", "additions"),
    [  # a load counts once it was carried for 5 s
        (34, 230, 4),
        (30, 200, 4),
        (27, 200, 3),
        (24, 160, 3),
        (12.5, 100, 1),
        (10, 0, 1),
    ],
)
def test_another_moment_of_sinking_is_read_from_the_curve(trial, at_s, held_items, additions):
    result = with_fixes(trial, f"sunk,{at_s}")
    assert (result.sunk_at_s, result.held_items) == (at_s, held_items)
    assert len(result.additions) == additions
    held = best_held(result.curve)
    assert (held.load_g, held.load_g_sd) == (result.held_g, result.held_g_sd)
    assert result.held_g == pytest.approx(2.5 * held_items, abs=0.3)
    assert all(point.at_s < at_s for point in result.curve)
    assert result.reason.endswith("The teacher set the moment.")
    (told,) = result.corrections
    assert f"went down {at_s:.1f} s after the start, not 3" in told


def test_the_moment_found_set_by_hand_changes_no_number(trial):
    first = trial.result
    result = corrected(trial, [SunkAt(first.sunk_at_s)])
    assert result.outcome is first.outcome
    assert result == replace(first, reason=result.reason, corrections=result.corrections)


def test_a_boat_told_as_sunk_that_stayed_afloat(trial):
    result = with_fixes(trial, "afloat")
    assert (result.outcome, result.sunk_at_s) == (Outcome.AFLOAT, None)
    assert result.held_items >= 230 and "says the teacher" in result.reason
    with pytest.raises(CorrectionUnfit, match="afloat already"):
        with_fixes(trial, "afloat", "afloat")


def test_a_boat_told_as_afloat_that_went_down(slipped):
    result = with_fixes(slipped, "sunk,18")
    assert result.outcome not in (Outcome.AFLOAT, Outcome.VOID)
    assert (result.sunk_at_s, result.held_items) == (18, 100)
    assert "not" not in result.corrections[0]  # there was no other moment


def test_a_trial_that_does_not_count_keeps_its_numbers(trial):
    result = with_fixes(trial, "void")
    assert result.outcome is Outcome.VOID and "teacher" in result.reason
    assert (result.held_items, result.curve) == (230, trial.result.curve)
    with pytest.raises(CorrectionUnfit, match="does not count already"):
        with_fixes(trial, "void", "void")
    again = with_fixes(trial, "void", "sunk,34")
    assert again.outcome is Outcome.SWAMPED


def test_corrections_stay_when_the_moment_moves(trial):
    result = with_fixes(trial, "merge,1", "count,1,150", "sunk,24")
    assert items(result) == [150, 40] and result.held_items == 150
    result = with_fixes(trial, "sunk,24", "count,2,50", "sunk,34")
    assert items(result) == [100, 50, 40, 30] and result.held_items == 220


def test_a_count_by_hand_can_be_split(trial):
    assert items(with_fixes(trial, "count,1,50", "split,1,20")) == [20, 30, *BATCHES[1:]]
    several = with_fixes(trial, "merge,1", "count,1,150", "merge,1", "split,1,180")
    assert items(several) == [180, 10, 30, 3] and several.held_items == 220


def test_a_number_goes_on_meaning_the_same_addition(slipped):
    """The second addition was 60 at 18 s and 50 at the end: one is not the other."""
    assert items(with_fixes(slipped, "count,1,90", "sunk,18")) == [90, 60]
    with pytest.raises(CorrectionUnfit, match="would not be aboard"):
        with_fixes(slipped, "count,2,40", "sunk,18")


@pytest.mark.parametrize("edit", ["count,4,20", "merge,3", "split,4,1"])
def test_a_moment_before_a_corrected_addition_is_refused(trial, edit):
    with pytest.raises(CorrectionUnfit, match="would not be aboard"):
        with_fixes(trial, edit, "sunk,24")


@pytest.mark.parametrize(
    ("text", "what", "try_this"),
    [
        ("merge,5", "No addition comes after number 5", "first of the two"),
        ("merge,6", "no addition 6", "from 1 to 5"),
        ("merge,0", "no addition 0", "from 1 to 5"),
        ("split,5,3", "3 items: 3 cannot be split off", "from 1 to 2"),
        ("split,5,0", "0 cannot be split off", "from 1 to 2"),
        ("split,9,1", "no addition 9", "from 1 to 5"),
        ("count,9,1", "no addition 9", "from 1 to 5"),
        ("sunk,0", "is not within the test", "at the most"),
        ("sunk,600", "is not within the test", "at the most"),
        ("back", "no correction left", "as it was measured"),
        ("count,1", "is no correction", "Use merge"),
        ("count,1,-3", "is no correction", "Use merge"),
        ("count,1,12345", "is no correction", "Use merge"),
        ("sunk,1e1", "is no correction", "Use merge"),
        ("sunk,nan", "is no correction", "Use merge"),
        ("merge,\u0661", "is no correction", "Use merge"),
        ("", "is no correction", "Use merge"),
    ],
)
def test_what_cannot_be_says_what_to_do(trial, text, what, try_this):
    with pytest.raises(CorrectionUnfit) as refused:
        with_fixes(trial, text)
    assert what in refused.value.what and try_this in refused.value.try_this


def test_one_item_cannot_be_split(trial):
    with pytest.raises(CorrectionUnfit, match="it is 1 item"):
        with_fixes(trial, "count,1,1", "split,1,1")


@pytest.mark.parametrize("text", ["merge,3", "split,12,4", "count,1,0", "sunk,41.25", "void"])
def test_a_correction_goes_over_the_wire_as_it_is(text):
    (mark,) = Stream().feed(encode(Mark(7, "fix", text)))
    assert mark == OperatorMark(0, "fix", text)


def test_the_engine_takes_corrections_after_the_end(tape, box, trial):
    engine, events = engine_of(tape, box, "count,1,97", "sunk,34", "back")
    (ended,) = [event for event in events if isinstance(event, Ended)]
    results = [event.result for event in events if isinstance(event, Corrected)]
    assert ended.result == trial.result == engine.trial.result
    assert [result.sunk_at_s for result in results][1] == 34
    assert results[2] == results[0] == with_fixes(trial, "count,1,97")
    assert engine.trial.standing_result is results[2]


def test_a_correction_of_a_running_trial_is_not_used_and_said_so(tape, box):
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    tape.rows(EACH_S, 0, level(0), rim(0))
    tape.mark("fix", "void")
    tape.mark("stop")
    events = tape.events()
    (result,) = [event.result for event in events if isinstance(event, Ended)]
    assert result.outcome is Outcome.AFLOAT and "not used" in result.warnings[0]
    assert any(isinstance(event, Warned) and "not used" in event.text for event in events)


def test_a_correction_that_does_not_fit_is_told_and_changes_nothing_else(tape, box, trial):
    _, events = engine_of(tape, box, "merge,9", "count,1,97", "merge,8")
    results = [event.result for event in events if isinstance(event, Corrected)]
    assert replace(results[0], warnings=()) == replace(trial.result, warnings=())
    assert ["not used" in text for text in results[0].warnings] == [True]
    assert results[2].held_items == 227 and len(results[2].warnings) == 2
    assert results[2].corrections == results[1].corrections


def test_without_an_item_weight_all_must_be_counted_by_hand(trial):
    class Nameless:
        """The same trial on a rig that was not told what an item weighs."""

        def account(self):
            known = trial.account()
            points = tuple(replace(point, items=None) for point in known.result.curve)
            additions = tuple(replace(a, items=None) for a in known.result.additions)
            blank = dict.fromkeys(
                ("held_items", "held_items_low", "held_items_high", "held_items_p")
            )
            result = replace(known.result, curve=points, additions=additions, **blank)
            aboard = tuple(
                tuple(replace(addition, items=None) for addition in then) for then in known.aboard
            )
            return replace(known, result=result, aboard=aboard)

        def account_if(self, sunk_at_s):
            raise AssertionError("not asked")

        def count(self, aboard):
            return None

    some = with_fixes(Nameless(), "count,1,100", "count,2,60", "count,3,40")
    assert items(some) == [100, 60, 40, None, None] and some.held_items is None
    every = with_fixes(Nameless(), "count,1,100", "count,2,60", "count,3,40", "count,4,30")
    assert (every.held_items_low, every.held_items, every.held_items_p) == (230, 230, 1)
    with pytest.raises(CorrectionUnfit, match="Nobody knows how many"):
        with_fixes(Nameless(), "split,1,3")


small = st.integers(0, 7)
edits = (
    st.builds(Merge, small)
    | st.builds(Split, small, st.integers(0, 70))
    | st.builds(SetCount, small, st.integers(0, 120))
)
fates = st.builds(SunkAt, st.sampled_from([8.0, 24.0, 30.0, 34.0, 39.0, 99.0]))
fates |= st.sampled_from([Afloat(), Void(), Back()])


def those_that_fit(trial, asked):
    """As a teacher would tap them: what is refused is not kept."""
    kept = []
    for correction in asked:
        try:
            corrected(trial, [*kept, correction])
        except CorrectionUnfit:
            continue
        kept.append(correction)
    return kept


@settings(max_examples=40, deadline=None)
@given(asked=st.lists(edits | edits | fates, max_size=7))
def test_taking_all_back_gives_the_first_result_again(trial, asked):
    kept = those_that_fit(trial, asked)
    stand = standing(kept)
    result = corrected(trial, kept)
    assert result == corrected(trial, stand) and len(result.corrections) == len(stand)
    assert corrected(trial, kept + [Back()] * len(stand)) == trial.result
    with pytest.raises(CorrectionUnfit):
        corrected(trial, kept + [Back()] * (len(stand) + 1))


@settings(max_examples=60, deadline=None)
@given(asked=st.lists(st.builds(Merge, small) | st.builds(Split, small, st.integers(1, 70))))
def test_putting_together_and_splitting_change_no_total(trial, asked):
    result = corrected(trial, those_that_fit(trial, asked))
    first = trial.result
    assert sum(items(result)) == sum(items(first))
    masses = [sum(addition.mass_g for addition in each.additions) for each in (result, first)]
    assert masses[0] == pytest.approx(masses[1], abs=1e-9)
    times = [addition.at_s for addition in result.additions]
    assert times == sorted(times)
    same = replace(result, additions=first.additions, corrections=())
    assert same == first


@settings(max_examples=60, deadline=None)
@given(asked=st.lists(edits, max_size=5), k=st.integers(1, 6))
def test_merged_and_split_again_is_as_before(trial, asked, k):
    kept = those_that_fit(trial, asked)
    before = corrected(trial, kept)
    if k >= len(before.additions) or not before.additions[k - 1].items:
        return
    if not before.additions[k].items:
        return  # nothing to split off
    again = [*kept, Merge(k), Split(k, before.additions[k - 1].items)]
    after = corrected(trial, again)
    assert items(after) == items(before)
    assert after.held_items == before.held_items
    assert [a.mass_g for a in after.additions] == pytest.approx(
        [a.mass_g for a in before.additions]
    )


@settings(max_examples=60, deadline=None)
@given(asked=st.lists(edits, max_size=6))
def test_the_curve_counts_what_the_additions_count(trial, asked):
    """Nothing was taken back in this trial: the last point carries all additions but the last."""
    kept = those_that_fit(trial, asked)
    result = corrected(trial, kept)
    assert result.held_items == best_held(result.curve).items
    assert result.held_items_low <= result.held_items <= result.held_items_high
    assert result.held_g == trial.result.held_g
    whole = [a for a in result.additions if a.at_s < 30]
    mass_g = sum(addition.mass_g for addition in whole)
    if mass_g == pytest.approx(575, abs=0.5):  # the one that sank it is an addition by itself
        assert result.held_items == sum(addition.items for addition in whole)
