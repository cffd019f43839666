"""A clock that is set late: trials in the order of happening, their times mended beside."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.errors import RecordsUnusable
from rig.records import Block, Store
from rig.sensing.sentences import Mark, encode
from rig.service.clock_watch import ClockWatch, boot_id

WAKES = datetime(2024, 7, 1, tzinfo=UTC)  # as such a computer wakes up
REALLY = datetime(2026, 11, 25, 9, 40, tzinfo=UTC)


class Clocks:
    """A wall clock that can be set, and one that only runs."""

    def __init__(self, wall=WAKES):
        self.off, self.s = wall, 100.0

    def wall(self):
        return self.off + timedelta(seconds=self.s - 100)

    def running(self):
        return self.s

    def set_to(self, wall):
        self.off = wall - timedelta(seconds=self.s - 100)


@pytest.fixture
def clocks():
    return Clocks()


def watch(clocks):
    return ClockWatch(clocks.wall, clocks.running)


def test_a_clock_that_runs_on_was_not_set(clocks):
    looks = watch(clocks)
    for _ in range(10):
        clocks.s += 3600
        assert looks.stepped() is None


def test_a_clock_that_is_set_is_told_once_and_by_how_much(clocks):
    looks = watch(clocks)
    clocks.s += 500
    before = clocks.wall()
    clocks.set_to(REALLY)
    assert looks.stepped() == REALLY - before
    clocks.s += 5
    assert looks.stepped() is None


def test_a_clock_that_is_steered_is_followed_in_silence(clocks):
    looks = watch(clocks)
    clocks.set_to(REALLY)
    assert looks.stepped() is not None
    for _ in range(100):  # half a second each time: fifty seconds in all
        clocks.off += timedelta(seconds=0.5)
        assert looks.stepped() is None
    clocks.off += timedelta(seconds=59)
    assert looks.stepped() is None


def test_a_year_before_the_program_is_not_believed_and_nothing_is_lost(clocks):
    looks = watch(clocks)
    before = clocks.wall()
    clocks.set_to(datetime(2024, 12, 1, tzinfo=UTC))
    assert looks.stepped() is None
    clocks.set_to(REALLY)
    assert looks.stepped() == REALLY - before


@given(st.lists(st.integers(-(10**8), 10**8).filter(lambda s: abs(s) >= 61), max_size=6))
def test_all_steps_together_are_what_the_clock_was_off(steps):
    clocks = Clocks(REALLY)
    looks, seen = watch(clocks), timedelta()
    for step in steps:
        clocks.off += timedelta(seconds=step)
        clocks.s += 7
        seen += looks.stepped() or timedelta()
    if clocks.wall().year >= 2025:
        assert clocks.off - REALLY - seen < timedelta(seconds=61)
        assert REALLY + seen - clocks.off < timedelta(seconds=61)


def begin(store, run_id, label, at):
    mark = Block(at, encode(Mark(0, "start", label)))
    row = store.begin_trial(run_id, boat={"label": label}, setup={}, identity=None, start_mark=mark)
    return row.number


@pytest.fixture
def store(tmp_path):
    with Store.open(tmp_path / "records.db") as opened:
        yield opened


@pytest.mark.parametrize("boot", ["one start of the computer", None])
def test_trials_before_the_clock_was_set_get_their_real_times(store, boot):
    earlier = store.begin_run("rig", boot)  # the program was started twice
    begin(store, earlier, "A", WAKES + timedelta(minutes=1))
    run_id = store.begin_run("rig", boot)
    begin(store, run_id, "B", WAKES + timedelta(minutes=9))
    step = REALLY - (WAKES + timedelta(minutes=10))
    assert store.clock_was_set(run_id, step) == (2 if boot else 1)
    begin(store, run_id, "C", REALLY + timedelta(minutes=2))
    c, b, a = store.trials()
    assert [row.boat_label for row in (a, b, c)] == ["A", "B", "C"]  # as it happened
    assert b.began_at_utc == REALLY - timedelta(minutes=1)
    assert b.started_at_utc == WAKES + timedelta(minutes=9)  # as it was kept
    assert c.began_at_utc == REALLY + timedelta(minutes=2) and c.mended_start_utc is None
    if boot:
        assert a.began_at_utc == REALLY - timedelta(minutes=9)
    else:
        assert a.began_at_utc is None  # nobody knows
    assert b.day == REALLY.astimezone().date()


def test_rigs_that_share_a_computer_each_mend_their_own(store):
    runs = {name: store.begin_run(name, "one start") for name in ("Window", "Door")}
    for name, run_id in runs.items():
        begin(store, run_id, name, WAKES)
    for run_id in runs.values():  # every program notices the same step
        assert store.clock_was_set(run_id, REALLY - WAKES) == 1
    assert [row.began_at_utc for row in store.trials()] == [REALLY, REALLY]


def test_another_start_of_the_computer_is_left_alone(store):
    yesterday = store.begin_run("rig", "yesterday")
    begin(store, yesterday, "A", REALLY)
    run_id = store.begin_run("rig", "today")
    assert store.clock_was_set(run_id, timedelta(days=800)) == 0
    assert store.trials()[0].began_at_utc == REALLY


@given(st.lists(st.tuples(st.sampled_from("ts"), st.integers(-(10**7), 10**7)), max_size=12))
def test_whatever_the_clock_does_the_order_is_that_of_happening(tmp_path_factory, deeds):
    """t: a trial begins, some seconds later; s: the clock is set by so much."""
    with Store.open(tmp_path_factory.mktemp("any") / "records.db") as store:
        run_id, wall, begun = store.begin_run("rig", "boot"), WAKES, []
        for deed, seconds in deeds:
            if deed == "s":
                wall += timedelta(seconds=seconds)
                store.clock_was_set(run_id, timedelta(seconds=seconds))
            else:
                wall += timedelta(seconds=abs(seconds) % 600 + 1)
                begun.append(begin(store, run_id, f"boat {len(begun)}", wall))
        rows = list(reversed(store.trials()))
        assert [row.number for row in rows] == begun
        times = [row.mended_start_utc or row.started_at_utc for row in rows]
        assert times == sorted(times)  # once mended, the clock agrees with the order


def test_this_start_has_a_name(tmp_path):
    assert boot_id(tmp_path / "none") is None
    (tmp_path / "id").write_text("5f3c\n")
    assert boot_id(tmp_path / "id") == "5f3c"


def test_a_running_rig_mends_its_own_trials(desk, tape, clocks):
    before, rows, _, truth = tape("clean-box")
    desk.service._clock = watch(clocks)
    desk.hear(b"".join([*before, *rows[:20]]))
    desk.service.start(truth["trials"][0]["boat"])
    (begun,) = desk.store.trials()
    clocks.set_to(REALLY)
    desk.service._look_at_the_clock()
    (mended,) = desk.store.trials()
    assert mended.mended_start_utc - begun.started_at_utc == REALLY - WAKES
    assert mended.started_at_utc == begun.started_at_utc


def test_a_step_that_the_disk_will_not_have_is_mended_later(desk, tape, clocks, monkeypatch):
    before, rows, _, truth = tape("clean-box")
    desk.service._clock = watch(clocks)
    desk.hear(b"".join([*before, *rows[:20]]))
    desk.service.start(truth["trials"][0]["boat"])
    (begun,) = desk.store.trials()
    clocks.set_to(REALLY)
    rounds, mend = [], desk.store.clock_was_set

    def full_at_first(*step):
        if len(rounds) < 3:
            raise RecordsUnusable("The disk is full.", "Make room.")
        return mend(*step)

    def read():
        rounds.append(len(rounds))
        if len(rounds) == 5:
            desk.service._stopping.set()  # the working thread has come round four times
        return b""

    monkeypatch.setattr(desk.store, "clock_was_set", full_at_first)
    monkeypatch.setattr(desk.source, "read", read)
    monkeypatch.setattr(desk.service._foreteller, "ask", lambda boat: None)
    desk.service.run()
    (mended,) = desk.store.trials()
    assert mended.mended_start_utc - begun.started_at_utc == REALLY - WAKES


def test_a_trial_that_begins_before_anyone_looked_keeps_its_right_time(desk, tape, clocks):
    before, rows, _, truth = tape("clean-box")
    desk.service._clock = watch(clocks)
    desk.hear(b"".join([*before, *rows[:20]]))
    clocks.set_to(REALLY)
    desk.service.start(truth["trials"][0]["boat"])
    desk.service._look_at_the_clock()
    assert desk.store.trials()[0].mended_start_utc is None
