"""The addition to call next: what the forecast says the boat surely carries, in handy numbers."""

import pytest

from rig.lesson.loading import SIZES
from rig.service.told import now_told
from rig.trial.events import LiveView, Phase, Said


def view(items, room_low, fits=True, phase=Phase.HOLDING):
    numbers = dict.fromkeys(Said.__dataclass_fields__, 0.0)
    forecast = Said(**{**numbers, "room_low_items": room_low, "fits": fits})
    return LiveView(phase=phase, items=items, load_g=2.5 * items, forecast=forecast)


def call(*args, **kwargs):
    return now_told(view(*args, **kwargs), 1, None, None)["call_items"]


@pytest.mark.parametrize(
    ("room_low", "expected"), [(60, 50), (23, 20), (12, 10), (5, 5), (4, 3), (1, 1), (0, 1)]
)
def test_many_while_it_surely_carries_them_and_one_near_the_end(room_low, expected):
    """Never more than the forecast's low end, but for the single item that finds the end."""
    assert call(30, room_low) == expected
    assert expected in SIZES and (expected <= room_low or expected == 1)


def test_without_a_forecast_to_be_believed_nothing_is_called():
    assert call(30, 20, fits=False) is None
    assert call(30, None) is None
    assert call(30, 20, phase=Phase.SINKING) is None
    assert now_told(LiveView(phase=Phase.HOLDING, items=3), 1, None, None)["call_items"] is None
