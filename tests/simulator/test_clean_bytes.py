"""The ready-made scenarios, in which nothing else goes wrong, never change by a single byte.

A regression guard: the hashes are our own, taken when gaussian noise was all that there was.
"""

from hashlib import sha256

import pytest

from rig.simulator.scenario import read_scenario, ready_made
from rig.simulator.tape import simulate

HASHES = {
    "afloat": "a644c6b94a849505a521f2fb9c8fcf72314f474df993d60e587c81cc2f6f0f84",
    "class": "d0a1af434a758bb00d026949d16236016930c15455d1efba713683f242000944",
    "clean-box": "f976870da79db0d061e8f813fccab2063dffc2e148ea0803288746db6ba3669f",
    "heel": "dbef1512c579434a2fa945087204e880982b9d7f4b2c743e01340a960247d2c3",
    "leak": "f8f7bc4a593a6219941b3fd6b3fe5311090d10f5f06c2ef4256b4280c4aef0c6",
    "load-cell-only": "87923dde68a40f31828676eeccee2c1b612746972601d2cec7e498e7dce4b7ac",
    "tub-on-cell": "72f0ebeeb582ff285ebd1f0b35d1cadfee773f6ca335c38f087c1fdbccfe4ce0",
}


def test_every_ready_made_scenario_is_guarded():
    assert ready_made() == sorted(HASHES)


@pytest.mark.parametrize("name", HASHES)
def test_a_clean_recording_is_what_it_always_was(name):
    assert sha256(simulate(read_scenario(name))[0]).hexdigest() == HASHES[name]
