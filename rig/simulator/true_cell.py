"""A load cell whose truth is known, and hands that follow a procedure's steps: for calibrations.

The cell answers by a formula instead of a whole tub, so that a thousand calibrations can be played
in a minute. Time is the board's own.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp
from random import Random

from rig.sensing.procedures.known import Known
from rig.sensing.procedures.session import READY, Phase, Session
from rig.sensing.stream import Sample

RATE_HZ = 10.0
_MOVES_S = 3.0  # hands put something on while nobody reads


@dataclass(frozen=True)
class TrueCell:
    """What there is: count = zero + per_g g + per_g2 g^2, and what comes on top.

    Attributes:
        noise: standard deviation of one word [counts].
        place_sd_g: how much a load, or none, differs each time it is put on.
        hysteresis_g: it reads so much more on the way down, in the middle of the range.
        creep_part: of the load, within a minute; `creep_s` the time constant.
        rests_g: from `rests_from_g` on so much more load changes nothing: the tray rests.
        corner_g: so much more at the front left corner.
        drift: counts a second.
    """

    zero: float = 84_213.0
    per_g: float = 430.0
    per_g2: float = 0.0
    noise: float = 21.5
    place_sd_g: float = 0.0
    hysteresis_g: float = 0.0
    creep_part: float = 0.0
    creep_s: float = 20.0
    rests_from_g: float | None = None
    rests_g: float = 0.0
    corner_g: float = 0.0
    drift: float = 0.0


def play(
    session: Session,
    cell: TrueCell,
    seed: int,
    true_g: Callable[[int, Known], float] = lambda number, known: known.value,
) -> None:
    """Do all steps of a session.

    Args:
        true_g: what is really on the cell at a step (its number from 0), and not what was said.
    """
    rng = Random(f"cell {seed}")
    most_g = max(step.known.value for step in session.job.steps)
    at_ms, since_ms, on_g, before_g, crept = 0, 0, 0.0, 0.0, 0.0
    down = False
    while session.phase is not Phase.DONE:
        step = session.step
        assert step is not None, "not done"
        load_g = true_g(len(session.taken), step.known)
        if load_g != on_g:
            down, before_g = load_g < on_g, on_g
            since_ms, on_g = at_ms, load_g
        placed_g = load_g + rng.gauss(0, cell.place_sd_g)
        at_ms += round(1000 * _MOVES_S)
        session.act(READY)
        taken = len(session.taken)
        while session.phase is Phase.READING and len(session.taken) == taken:
            at_ms += round(1000 / RATE_HZ)
            lag = exp(-(at_ms - since_ms) / 1000 / cell.creep_s)
            crept = cell.creep_part * (on_g + (before_g - on_g) * lag)
            felt_g = _felt_g(cell, placed_g, step.place) + crept
            if down and load_g > 0 and most_g:
                felt_g += cell.hysteresis_g * 4 * load_g * (most_g - load_g) / most_g**2
            mean = cell.zero + cell.per_g * felt_g + cell.per_g2 * felt_g**2
            mean += cell.drift * at_ms / 1000
            session.feed(Sample(at_ms, round(rng.gauss(mean, cell.noise)), None, None, None))
        if len(session.taken) == taken:
            return  # it was not taken: the session says why


def _felt_g(cell: TrueCell, load_g: float, place: str) -> float:
    if cell.rests_from_g is not None and load_g > cell.rests_from_g:
        load_g = max(cell.rests_from_g, load_g - cell.rests_g)
    return load_g + (cell.corner_g if "front left" in place else 0.0)
