"""The Board's sentences are easy to read for a nine-year-old.

The readability index of Smith and Senter (Automated Readability Index, 1967), a US school grade
from letters a word and words a sentence, as the library textstat works it out, is 4 at most.

Beside it two plain limits: at most 14 words in a sentence, no word of more than 12 letters. Short
sentences and short words are what the readability formulas reward, such as Flesch's (J. Appl.
Psychol. 32 (1948) 221-233, from memory); the two limits themselves are ours, no source.
A number and its unit are read as one word.
"""

import re
from itertools import product

import pytest
import textstat

from dashboard.words import WORDS
from rig.physics.outlook import WORDS as OUTLOOK_WORDS
from rig.service.told import now_told
from rig.trial.events import LiveView, Outcome, Phase, TrialResult
from rig.trial.fate import LastMoments, fate_of

MOST_WORDS = 14
MOST_LETTERS = 12
# What may break a limit, and why. A new one needs its reason.
EXCEPTIONS: dict[str, str] = {}

HOLES = {"item": "washers", "label": "Herons", "outcome": "sank", "room": "25 washers"}


def too_hard(text: str) -> list[str]:
    """What in a text breaks a limit."""
    text = re.sub(r"\{(\w+)\}", lambda hole: HOLES.get(hole[1], "12"), text)
    text = re.sub(r"(\d) (mm|g|s)\b", r"\1\2", text)
    found = []
    for sentence in re.split(r"[.!?]+(?:\s|$)", text):
        words = re.findall(r"[\w'.-]*\w", sentence)
        if len(words) > MOST_WORDS:
            found.append(f"{len(words)} words: {sentence}")
        found += [word for word in words if len(word) > MOST_LETTERS]
    return found


BOARD = {
    f"{group}.{key}": text
    for group in ("board", "phase", "outcome", "short_outcome")
    for key, text in WORDS[group].items()
}


@pytest.mark.parametrize("name", BOARD)
def test_the_boards_words(name: str) -> None:
    if name in EXCEPTIONS:
        assert too_hard(BOARD[name]), f"{name} is easy now: take it out of the exceptions"
    else:
        assert too_hard(BOARD[name]) == []


def reasons() -> set[str]:
    """Every kind of reason `fate_of` gives, from last moments of all sorts."""
    said = set()
    for capacity_g, since_s, left_mm, slid_mm, missing_mm, unseen in product(
        (None, 101.0, 250.0), (0.5, 9.0), (None, 0.2, 2.0, 14.0), (None, 12.0),
        (None, 11.0), (False, True),
    ):  # fmt: skip
        last = LastMoments(
            load_g=100.0,
            capacity_g=capacity_g,
            item_g=2.5,
            since_addition_s=since_s,
            left_mm=left_mm,
            left_mm_sd=None if left_mm is None else 0.5,
            slid_mm=slid_mm,
            slid_sure=slid_mm is not None,
            missing_mm=missing_mm,
            unseen=unseen,
        )
        said.add(fate_of(last)[1])
    return said


def test_why_it_went_down() -> None:
    said = reasons()
    kinds = ("full", "nobody added", "deeper", "wall left", "room left", "Not sure")
    assert [kind for kind in kinds if not any(kind in text for text in said)] == []
    assert [hard for text in said for hard in too_hard(text)] == []


def states() -> set[str]:
    """All that the rig says in the state line."""
    views = [LiveView(phase=p, items=n, hold_left_s=s) for p in Phase for n in (None, 3)
             for s in (None, 0.0, 2.0)]  # fmt: skip
    said = {now_told(view, 1, None, None)["state_text"] for view in views}
    for outcome in Outcome:
        result = TrialResult("", outcome, "", 0.0, 0.0, 0, 0, 0, 1.0, *[None] * 3, (), (), ())
        said.add(now_told(LiveView(), 1, result, None)["state_text"])
    return said


def test_the_state_line() -> None:
    said = states()
    assert len(said) >= 8
    assert [hard for text in said for hard in too_hard(text)] == []


def test_what_comes_first() -> None:
    assert len(OUTLOOK_WORDS) >= 7
    assert [hard for text in OUTLOOK_WORDS.values() for hard in too_hard(text)] == []


def graded(text: str) -> float:
    """The grade; numbers and labels filled in, at least one sentence."""
    text = re.sub(r"\{(\w+)\}", lambda hole: HOLES.get(hole[1], "12"), text)
    grade: float = textstat.automated_readability_index(text)
    return grade


FOR_TEACHERS = {"board.no_script"}  # no child turns scripts on
LEAST_WORDS = 5  # two words are no sentence to a formula that divides by sentences
SENTENCES = {
    name: text
    for name, text in (
        *BOARD.items(),
        *((text, text) for text in (*reasons(), *states(), *OUTLOOK_WORDS.values())),
    )
    if len(text.split()) >= LEAST_WORDS
}


def test_a_fourth_grader_can_read_every_sentence() -> None:
    hard = {
        name: graded(text)
        for name, text in SENTENCES.items()
        if name not in FOR_TEACHERS and graded(text) > 4
    }
    assert len(SENTENCES) > 30 and hard == {}
    assert all(graded(BOARD[name]) > 4 for name in FOR_TEACHERS)  # else it needs no exception
    assert graded("Hydrostatic equilibrium determines displacement.") > 12


def test_no_cause_is_claimed_while_it_goes_down() -> None:
    view = LiveView(phase=Phase.SINKING)
    texts = (now_told(view, 1, None, None)["state_text"], WORDS["phase"]["sinking"],
             *(WORDS["outcome"][o] for o in ("swamped", "heeled", "leaked")))  # fmt: skip
    for text in texts:
        assert not re.search(r"rim|water|tip|leak|full|over", text), text


def test_hard_sentences_are_found() -> None:
    assert too_hard("One " * 15) and not too_hard("One " * 14)
    assert too_hard("Hydrodynamics!") == ["Hydrodynamics"]
    assert not too_hard(f"{'One ' * 13}2 mm. {'One ' * 14}")
