"""A tub, a boat, hands, gauges and a board that speaks only the wire protocol.

Everything but `PtyBoard` is deterministic by its seed and knows no wall clock: time is the
board's own, in seconds since it was switched on.
"""

from rig.simulator.bench import Bench
from rig.simulator.classroom import DemoClass, Teacher
from rig.simulator.conditions import Conditions, Fate
from rig.simulator.hands import Plan
from rig.simulator.pty_board import PtyBoard
from rig.simulator.scenario import Scenario, read_scenario, ready_made
from rig.simulator.tape import simulate

__all__ = [
    "Bench",
    "Conditions",
    "DemoClass",
    "Fate",
    "Plan",
    "PtyBoard",
    "Scenario",
    "Teacher",
    "read_scenario",
    "ready_made",
    "simulate",
]
