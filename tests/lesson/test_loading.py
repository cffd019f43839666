"""The addition to call next."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.errors import OutOfRange
from rig.lesson.loading import SIZES, next_addition, sizes_now


@pytest.mark.parametrize(
    ("aboard", "sure", "fine", "items", "near"),
    [
        (0, 60.0, 1, 50, False),
        (50, 60.0, 1, 10, True),
        (50, 59.9, 1, 5, False),
        (58, 59.9, 1, 1, True),
        (70, 59.9, 1, 1, True),  # beyond what was sure: one at a time
        (0, None, 2, 2, True),  # no forecast
        (0, 60.0, 5, 50, False),
        (55, 60.0, 5, 5, True),
    ],
)
def test_big_far_from_the_end_small_near_it(aboard, sure, fine, items, near):
    call = next_addition(aboard, sure, fine)
    assert (call.items, call.near) == (items, near)
    assert call.text == f"add {items}"


def test_never_more_than_hands_can_take():
    assert next_addition(0, 500.0, 1, most=20).items == 20


@given(
    st.integers(0, 400), st.floats(0, 500), st.sampled_from([1, 2, 5]), st.sampled_from([5, 20, 50])
)
def test_a_large_addition_never_passes_what_is_sure(aboard, sure, fine, most):
    call = next_addition(aboard, sure, fine, most)
    assert call.items == fine or aboard + call.items <= sure + 1e-6
    assert fine <= call.items <= most
    assert call.items in (fine, *SIZES)


@given(st.lists(st.floats(-50, 400), min_size=1, max_size=20), st.sampled_from([1, 2, 5]))
def test_many_boats_at_once_are_told_the_same(room, fine):
    together = sizes_now(np.array(room), fine, 50)
    alone = [next_addition(0, max(r, 0.0), fine).items for r in room]
    assert list(together) == alone


@pytest.mark.parametrize(("aboard", "fine", "most"), [(-1, 1, 50), (0, 0, 50), (0, 10, 5)])
def test_numbers_that_cannot_be(aboard, fine, most):
    with pytest.raises(OutOfRange):
        next_addition(aboard, 10.0, fine, most)
