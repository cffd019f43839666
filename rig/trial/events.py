"""What the engine notices. Times are seconds since the start mark."""

from dataclasses import asdict, dataclass, field
from enum import StrEnum
from typing import Any

from rig.sensing.health import Ailment


class Phase(StrEnum):
    """Where a trial stands."""

    TARING = "taring"  # start was tapped; the empty rig is being weighed
    ADDING = "adding"  # afloat, load on the move
    HOLDING = "holding"  # afloat, load steady
    SINKING = "sinking"  # the rim is under; the last load settles
    ENDED = "ended"


class Outcome(StrEnum):
    """How a trial ended."""

    SWAMPED = "swamped"
    HEELED = "heeled"
    LEAKED = "leaked"
    AFLOAT = "afloat"
    VOID = "void"


class FreeboardMethod(StrEnum):
    """Where a freeboard comes from."""

    RIM_GAUGE = "rim gauge"  # rim height less level, both measured
    RIM_AND_LOAD = "rim gauge and load"  # rim measured, level worked out from the load
    DISPLACEMENT = "displacement"  # level measured, draft by the hull
    RULER = "ruler"  # read by somebody, tapped in on the Desk


class LoadSource(StrEnum):
    """Where a load comes from."""

    SCALE = "scale"
    COUNT = "count"  # items counted by hand, on top of what the scale bore last


@dataclass(frozen=True, slots=True)
class Freeboard:
    """A freeboard with its standard uncertainty and where it comes from."""

    freeboard_mm: float
    freeboard_mm_sd: float
    method: FreeboardMethod


@dataclass(frozen=True, slots=True)
class Addition:
    """Items put on together, and still aboard."""

    at_s: float
    mass_g: float
    items: int | None
    mass_g_sd: float = 0.0  # of the weighing (the items' own spread comes on top), or the counting
    source: LoadSource = LoadSource.SCALE


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """One plateau: the load and the freeboard while it lasted."""

    at_s: float
    load_g: float
    load_g_sd: float
    items: int | None
    freeboard_mm: float | None
    freeboard_mm_sd: float | None
    method: FreeboardMethod | None
    lasted_s: float
    held: bool
    load_source: LoadSource = LoadSource.SCALE


@dataclass(frozen=True, slots=True)
class BandPoint:
    """Freeboard under a load [mm]: 90 % of the possible boats lie between low and high."""

    load_g: float
    low_mm: float
    median_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True)
class Prediction:
    """What Archimedes says before the first item: the boat's own mass taken off.

    `capacity_g` is with the water level with the rim. A clean dry rim holds back some water, so
    up to `held_back_g` is predicted right as well; `held_back_mm` is how much it can hold back.
    """

    capacity_g: float
    capacity_items: int | None
    held_back_g: float
    held_back_items: int | None
    held_back_mm: float
    curve: tuple[tuple[float, float], ...]  # (load_g, freeboard_mm), level rim
    band: tuple[BandPoint, ...]


@dataclass(frozen=True, slots=True)
class Said:
    """The forecast at one moment: median, and low to high is the 90 % interval.

    `..._g` is the largest load the boat carries; below 0 if it goes down empty. `..._items` is
    that in whole items, those aboard counted as such; None if no item is known. `room_...` is
    what may still go aboard. `fits` is False when the curve says that this is not the boat that
    was measured: wrong boat chosen, wrong measure, much water inside. The forecast is a guess
    then, and reaches down to what was held.
    """

    load_g: float
    median_g: float
    low_g: float
    high_g: float
    room_g: float
    room_low_g: float
    room_high_g: float
    median_items: int | None
    low_items: int | None
    high_items: int | None
    room_items: int | None
    room_low_items: int | None
    room_high_items: int | None
    fits: bool


@dataclass(frozen=True, slots=True)
class TrialResult:
    """A finished trial. `reason` says in one sentence why it ended as it did."""

    boat: str
    outcome: Outcome
    reason: str
    held_g: float
    held_g_sd: float
    held_items: int | None
    held_items_low: int | None  # a 95 % range, and the probability that `held_items` is exact
    held_items_high: int | None
    held_items_p: float | None
    sunk_at_s: float | None
    predicted_capacity_g: float | None
    predicted_capacity_items: int | None
    additions: tuple[Addition, ...]
    curve: tuple[CurvePoint, ...]
    warnings: tuple[str, ...]
    corrections: tuple[str, ...] = ()  # what somebody has put right since, in plain words

    def as_dict(self) -> dict[str, Any]:
        """For JSON; keys as the fields."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class Started:
    """A trial began."""

    boat: str


@dataclass(frozen=True, slots=True)
class Tared:
    """The empty rig has been weighed: items may go aboard. No prediction without a hull."""

    at_s: float
    prediction: Prediction | None


@dataclass(frozen=True, slots=True)
class Added:
    """An addition was noticed."""

    addition: Addition
    load_g: float
    items: int | None


@dataclass(frozen=True, slots=True)
class TakenBack:
    """Load went off again; `additions` is what is left aboard."""

    at_s: float
    mass_g: float
    additions: tuple[Addition, ...]


@dataclass(frozen=True, slots=True)
class Held:
    """A load was carried through its hold."""

    point: CurvePoint


@dataclass(frozen=True, slots=True)
class Sunk:
    """The rim went under for good at `at_s`; `tapped` if only the teacher's tap says so."""

    at_s: float
    tapped: bool


@dataclass(frozen=True, slots=True)
class Warned:
    """Something to know about this trial."""

    text: str


@dataclass(frozen=True, slots=True)
class RulerRead:
    """Somebody read the freeboard with a ruler."""

    at_s: float
    freeboard_mm: float


@dataclass(frozen=True, slots=True)
class FaultBegan:
    """A channel gives nothing to be believed since `since_s`."""

    channel: str
    ailment: Ailment
    since_s: float


@dataclass(frozen=True, slots=True)
class FaultOver:
    """It does again."""

    channel: str
    ailment: Ailment
    since_s: float
    over_s: float


@dataclass(frozen=True, slots=True)
class Ended:
    """The trial is over."""

    result: TrialResult


@dataclass(frozen=True, slots=True)
class Corrected:
    """Somebody has put a finished trial right; the first result stays with its `Ended`."""

    result: TrialResult


TrialEvent = (
    Started
    | Tared
    | Added
    | TakenBack
    | Held
    | RulerRead
    | Sunk
    | Warned
    | FaultBegan
    | FaultOver
    | Ended
    | Corrected
)


@dataclass(slots=True)
class LiveView:
    """The newest state of a trial, for the Board: what is aboard and how it floats right now."""

    at_s: float = 0.0
    phase: Phase = Phase.TARING
    load_g: float | None = None
    load_g_sd: float | None = None
    items: int | None = None
    freeboard_mm: float | None = None
    freeboard_mm_sd: float | None = None
    draft_mm: float | None = None
    hold_left_s: float | None = None
    counting: bool = False  # the scale is out: items are counted by hand
    water_c: float | None = None
    forecast: Said | None = None
    additions: list[Addition] = field(default_factory=list)
