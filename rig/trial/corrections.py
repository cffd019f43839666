"""What a teacher puts right after a trial: parsed from a mark's text, applied to its result.

A correction never touches what was measured. It is kept beside the recording, in order, and
the corrected result is worked out from the first one each time: take the last correction back
and all is as it was before it.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from rig.errors import CorrectionUnfit
from rig.trial.counting import Count
from rig.trial.curve import best_held
from rig.trial.events import Addition, Outcome, TrialResult
from rig.trial.lots import Lots, shared

WHO = "Teacher"


@dataclass(frozen=True, slots=True)
class Merge:
    """Addition k and the one after it were one."""

    k: int


@dataclass(frozen=True, slots=True)
class Split:
    """The first so many items of addition k were one addition, the rest another."""

    k: int
    items: int


@dataclass(frozen=True, slots=True)
class SetCount:
    """Addition k was so many items, whatever the scale says."""

    k: int
    items: int


@dataclass(frozen=True, slots=True)
class SunkAt:
    """The boat went down so many seconds after the start."""

    at_s: float


@dataclass(frozen=True, slots=True)
class Afloat:
    """It had not gone down."""


@dataclass(frozen=True, slots=True)
class Void:
    """The trial does not count."""


@dataclass(frozen=True, slots=True)
class Back:
    """The last correction that still stands was wrong."""


Edit = Merge | Split | SetCount
Correction = Edit | SunkAt | Afloat | Void | Back

_SECONDS = r"\d{1,6}(?:\.\d{1,3})?"
_NUMBER = r"\d{1,4}"
_FORMS: tuple[tuple[str, Callable[..., Correction]], ...] = (
    (rf"merge,({_NUMBER})", lambda k: Merge(int(k))),
    (rf"split,({_NUMBER}),({_NUMBER})", lambda k, items: Split(int(k), int(items))),
    (rf"count,({_NUMBER}),({_NUMBER})", lambda k, items: SetCount(int(k), int(items))),
    (rf"sunk,({_SECONDS})", lambda at_s: SunkAt(float(at_s))),
    (r"afloat", Afloat),
    (r"void", Void),
    (r"back", Back),
)


def parse(text: str) -> Correction:
    """Return what a `fix` mark's text says. Raises CorrectionUnfit."""
    for form, make in _FORMS:
        if found := re.fullmatch(form, text, re.ASCII):
            return make(*found.groups())
    raise CorrectionUnfit(
        f'"{text}" is no correction.',
        "Use merge,k  split,k,items  count,k,items  sunk,seconds  afloat  void  or  back.",
    )


@dataclass(frozen=True, slots=True)
class Account:
    """One way to read a finished trial, and what was aboard at each point of its curve."""

    result: TrialResult
    aboard: tuple[tuple[Addition, ...], ...]


class Rereading(Protocol):
    """A finished trial that can be read again; `Trial` fits."""

    def account(self) -> Account:
        """As it was first read."""

    def account_if(self, sunk_at_s: float | None) -> Account:
        """As if the boat had gone down then, or stayed afloat. Raises CorrectionUnfit."""

    def count(self, aboard: Sequence[Addition]) -> Count | None:
        """How many items some weighed additions are; None where nobody said what one weighs."""


def standing(corrections: Sequence[Correction]) -> list[Correction]:
    """Return those not taken back, in their order. Raises CorrectionUnfit."""
    stand: list[Correction] = []
    for correction in corrections:
        if not isinstance(correction, Back):
            stand.append(correction)
        elif stand:
            stand.pop()
        else:
            raise CorrectionUnfit(
                "There is no correction left to take back.", "The trial stands as it was measured."
            )
    return stand


def corrected(trial: Rereading, corrections: Sequence[Correction]) -> TrialResult:
    """Return a trial's result with corrections, applied one after the other.

    Putting together and splitting change no total. A count set by hand is sure; grams stay as
    weighed. Another moment of sinking is read from the same curve: which load was held follows.

    Raises:
        CorrectionUnfit: one of them cannot be applied.
    """
    account = trial.account()
    lots = Lots.of(account.result.additions)
    edits: list[Edit] = []
    told: list[str] = []
    for correction in standing(corrections):
        result = account.result
        told.append(f"{WHO}: {_in_words(correction, lots, result)}")
        match correction:
            case SunkAt():
                account = trial.account_if(correction.at_s)
                lots = _moved(lots, edits, account.result.additions)
            case Afloat():
                if result.outcome is Outcome.AFLOAT:
                    raise CorrectionUnfit("It is told as afloat already.", "Nothing need be done.")
                account = trial.account_if(None)
                lots = _moved(lots, edits, account.result.additions)
            case Void():
                if result.outcome is Outcome.VOID:
                    raise CorrectionUnfit(
                        "This test does not count already.", "Nothing need be done."
                    )
                reason = "This test does not count, says the teacher."
                void = replace(result, outcome=Outcome.VOID, reason=reason)
                account = replace(account, result=void)
            case Merge() | Split() | SetCount():
                lots = _edited(lots, correction)
                edits.append(correction)
    result = account.result if not edits else _with_lots(account, lots, trial.count)
    return replace(result, corrections=tuple(told))


class Corrections:
    """The corrections of one finished trial, and its result with them."""

    def __init__(self, trial: Rereading) -> None:
        self.result: TrialResult | None = None  # None: nothing was ever put right
        self._trial = trial
        self._kept: list[Correction] = []
        self._unused: list[str] = []

    def would_give(self, text: str) -> TrialResult:
        """Return the result with one more correction; keeps nothing. Raises CorrectionUnfit."""
        return self._noted(corrected(self._trial, [*self._kept, parse(text)]))

    def take(self, text: str) -> TrialResult:
        """Keep a correction and return the result with it.

        One that does not fit changes nothing but for a warning: it stands in a recording, and
        whoever replays that must know.
        """
        try:
            result = corrected(self._trial, [*self._kept, parse(text)])
        except CorrectionUnfit as err:
            self._unused.append(f"A correction was not used: {err}")
            result = self.result or self._trial.account().result
        else:
            self._kept.append(parse(text))
        self.result = self._noted(result)
        return self.result

    def _noted(self, result: TrialResult) -> TrialResult:
        new = [text for text in self._unused if text not in result.warnings]
        return replace(result, warnings=(*result.warnings, *new)) if new else result


def _edited(lots: Lots, edit: Edit) -> Lots:
    match edit:
        case Merge():
            return lots.merged(edit.k)
        case Split():
            return lots.split(edit.k, edit.items)
        case SetCount():
            return lots.counted(edit.k, edit.items)


def _moved(lots: Lots, edits: Sequence[Edit], weighed: Sequence[Addition]) -> Lots:
    """The same edits on what was aboard by another moment.

    They must all fall on additions that were aboard at both: k must go on meaning the same one.
    """
    alike = shared(lots.weighed, weighed)
    both = Lots.of(weighed[:alike])
    try:
        for edit in edits:
            both = _edited(both, edit)
    except CorrectionUnfit as err:
        raise CorrectionUnfit(
            "An addition that was put right would not be aboard by then.",
            "Take that correction back first, then set the moment.",
        ) from err
    rest = Lots.of(weighed).told[alike:]
    return Lots(tuple(weighed), both.told + rest)


def _with_lots(
    account: Account, lots: Lots, count: Callable[[Sequence[Addition]], Count | None]
) -> TrialResult:
    """The result with additions told otherwise."""
    result = replace(account.result, additions=lots.additions())
    if not lots.by_hand:
        return result
    points = tuple(
        replace(point, items=lots.items_aboard(then))
        for point, then in zip(result.curve, account.aboard, strict=True)
    )
    held = best_held(points)
    if held is None:
        return replace(result, curve=points)
    then = account.aboard[points.index(held)]
    found = lots.count_aboard(then, count)
    return replace(
        result,
        curve=points,
        held_items=held.items,
        held_items_low=found.low if found else None,
        held_items_high=found.high if found else None,
        held_items_p=found.p if found else None,
    )


def _in_words(correction: Correction, lots: Lots, result: TrialResult) -> str:
    """A standing correction in one plain sentence; before it is applied."""
    match correction:
        case Merge(k):
            return f"additions {k} and {k + 1} were one."
        case Split(k, items):
            return f"the first {items} of addition {k} were one, the rest another."
        case SetCount(k, items):
            known = lots.additions()[k - 1].items if 1 <= k <= len(lots.told) else None
            instead = "" if known is None or known == items else f", not {known}"
            return f"addition {k} was {items}{instead}."
        case SunkAt(at_s):
            before = "" if result.sunk_at_s is None else f", not {result.sunk_at_s:.1f} s"
            return f"it went down {at_s:.1f} s after the start{before}."
        case Afloat():
            return "it had not gone down."
        case Void():
            return "this test does not count."
        case Back():
            raise AssertionError("what was taken back is not told")
