"""`tubrig check tub`: does the tub hold water, and will it until the class comes?"""

import re
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import click

from rig.cli.output import data_dir_option, file_argument, json_option, print_json
from rig.cli.rigfiles import read_rig_files, rig_file_options
from rig.errors import RigError
from rig.lesson.tub_check import TubCheck
from rig.lesson.tub_facts import TubFacts, pan_evaporation, tub_area_mm2, watch_by
from rig.lesson.tub_verdict import SPARE_MM, TubFinding, TubVerdict
from rig.lesson.tub_watch import By
from rig.lesson.tub_words import tub_lines, until_line
from rig.physics.air import ROOM_C
from rig.physics.evaporation import Evaporation, still_water
from rig.records import data_folder, records_file
from rig.sensing.recording import read_recording
from rig.sensing.serial_source import SerialSource
from rig.sensing.stream import Stream
from rig.setup import RigSetup

DEFAULT_MIN = 60.0
_KNOWN = (TubFinding.HOLDS, TubFinding.LEAKS, TubFinding.UNUSABLE)


@click.command(
    epilog="Example: tubrig check tub --until 09:40 --humidity 45    (fill the tub, keep hands"
    " off, and start it; or name a recording: tubrig check tub night.rec --setup rig.toml)"
)
@click.argument("recording", type=file_argument, required=False)
@rig_file_options
@click.option("--running", is_flag=True, help="Read what the running rig has kept of late.")
@click.option("--minutes", type=float, help=f"Watch so long at most. [default: {DEFAULT_MIN:g}]")
@click.option("--until", help="A time of day, such as 09:40: will the level be good until then?")
@click.option(
    "--spare-mm", type=float, default=SPARE_MM, show_default=True, help="So far it may fall."
)
@click.option("--by", type=click.Choice([by.value for by in By]), help="What to watch.")
@click.option("--air-c", type=float, help="The room's temperature. [default: the rig file's]")
@click.option("--humidity", type=float, help="Of the room, in %. [default: anything from 30 to 70]")
@click.option("--stood", is_flag=True, help="The water has stood for hours: it is not warming.")
@click.option("--pan-fell-mm", type=float, help="How far an open pan beside the tub fell,")
@click.option("--pan-hours", type=float, help="and in what time.")
@data_dir_option
@json_option
@click.pass_context
def tub(
    ctx: click.Context,
    recording: Path | None,
    setup_file: Path | None,
    boats_file: Path | None,
    running: bool,
    minutes: float | None,
    until: str | None,
    spare_mm: float,
    by: str | None,
    air_c: float | None,
    humidity: float | None,
    stood: bool,
    pan_fell_mm: float | None,
    pan_hours: float | None,
    data_dir: Path | None,
    as_json: bool,
) -> None:
    """Watch the filled tub, nobody touching it: does it hold, and will it until class?

    Drying is allowed for, and so is water that warms. Exit code 2: it leaks, or cannot be told.
    """
    folder = data_folder(data_dir)
    setup, _ = read_rig_files(setup_file, boats_file, folder)
    must_be_above_0(minutes=minutes, spare_mm=spare_mm)
    clock = until_time(until, datetime.now()) if until else None
    facts = _facts(setup, by, air_c, humidity, stood, drying(pan_fell_mm, pan_hours))
    check = TubCheck(setup, facts)
    if recording is not None:
        verdict = watch(check, read_recording(recording), minutes)
    elif running:
        verdict = watch(check, [_kept(setup, minutes or DEFAULT_MIN, data_dir)], None)
    else:
        say = (lambda line: None) if as_json else click.echo
        verdict = watch(check, _live(setup, say), minutes or DEFAULT_MIN, say, stop_early=True)
    hours = (clock - datetime.now()).total_seconds() / 3600 if clock else None
    good = None if hours is None else verdict.good_for(hours, spare_mm)
    if as_json:
        print_json(told(verdict, spare_mm, until, hours))
    else:
        click.echo(f"Watched the {facts.by.value} for {verdict.minutes:.0f} minutes.")
        for line in tub_lines(verdict, spare_mm):
            click.echo(line)
        if until and hours is not None:
            click.echo(until_line(verdict, until, hours, spare_mm))
    if not (verdict.finding is TubFinding.HOLDS or good):
        ctx.exit(2)


def watch(
    check: TubCheck,
    chunks: Any,
    minutes: float | None,
    say: Callable[[str], object] = lambda line: None,
    stop_early: bool = False,
) -> TubVerdict:
    """Feed chunks of bytes until they end, the time is up, or (`stop_early`) it is known."""
    stream = Stream()
    for chunk in chunks:
        for item in stream.feed(chunk):
            if check.ended or (minutes is not None and check.minutes >= minutes):
                return check.look()
            verdict = check.feed([item])
            if verdict is not None:
                say(f"{verdict.minutes:.0f} min: {verdict.finding.value}")
                if stop_early and verdict.finding in _KNOWN:
                    return verdict
    check.must_have_heard()
    return check.look()


def until_time(text: str, now: datetime) -> datetime:
    """Return the next moment with that time of day. Raises RigError."""
    match = re.fullmatch(r"([01]?\d|2[0-3])[:.]([0-5]\d)", text.strip())
    if match is None:
        raise RigError(f'"{text}" is no time of day.', "Write it as 09:40.")
    then = now.replace(hour=int(match[1]), minute=int(match[2]), second=0, microsecond=0)
    return then if then > now else then + timedelta(days=1)


def drying(pan_fell_mm: float | None, pan_hours: float | None) -> Evaporation | None:
    """Return what a pan beside the tub says. Raises RigError where half of it is missing."""
    if pan_fell_mm is None and pan_hours is None:
        return None
    if pan_fell_mm is None or pan_hours is None:
        raise RigError("The pan needs both figures.", "Give --pan-fell-mm and --pan-hours.")
    return pan_evaporation(pan_fell_mm, pan_hours)


def told(
    verdict: TubVerdict, spare_mm: float, until: str | None, hours: float | None
) -> dict[str, Any]:
    """The JSON of `tubrig check tub`; null where nothing is known yet."""
    numbers = {
        key: None if isinstance(value, float) and abs(value) == float("inf") else value
        for key, value in ((key, getattr(verdict, key)) for key in TubVerdict.__dataclass_fields__)
    }
    soonest, likely = verdict.hours_until_low(spare_mm)
    return {
        **numbers,
        "spare_mm": spare_mm,
        "low_in_h": None if likely == float("inf") else likely,
        "low_in_h_soonest": None if soonest == float("inf") or soonest == 0 else soonest,
        "until": until,
        "hours": hours,
        "good_until": None if hours is None else verdict.good_for(hours, spare_mm),
        "words": tub_lines(verdict, spare_mm),
    }


def must_be_above_0(**given: float | None) -> None:
    """Raise RigError, naming the option."""
    for key, value in given.items():
        if value is not None and not 0 < value < 1e6:
            option = key.replace("_", "-")
            raise RigError(f"--{option} {value:g} cannot be.", "Give a number above 0.")


def _facts(
    setup: RigSetup,
    by: str | None,
    air_c: float | None,
    humidity: float | None,
    stood: bool,
    pan: Evaporation | None,
) -> TubFacts:
    if air_c is None:
        air_c = setup.surface.air_c if setup.surface else ROOM_C
    if humidity is None:
        humid = (0.3, 0.7)
    else:
        humid = (max(0.0, humidity / 100 - 0.05), min(1.0, humidity / 100 + 0.05))
        if not 0 <= humidity <= 100:
            raise RigError(f"A humidity of {humidity:g} % cannot be.", "Give 0 to 100.")
    return TubFacts(
        watch_by(setup, By(by) if by else None),
        tub_area_mm2(setup),
        air_c,
        pan or still_water(air_c, air_c, *humid),
        cold_water=not stood,
    )


def _live(setup: RigSetup, say: Callable[[str], object]) -> Iterator[bytes]:
    """What the port says, for ever; a port that is not there is an error at once."""
    kind, _, name = setup.rig.source.partition(":")
    if kind != "serial":
        raise RigError(
            f'The rig file\'s source is "{setup.rig.source}": there is no tub to watch.',
            "Name a recording, or set the source to the board's port.",
        )
    source = SerialSource(name)
    try:
        shown = ""
        while True:
            yield source.read()
            if not source.status.ok and source.status.text != shown:
                shown = source.status.text
                say(shown)
    finally:
        source.close()


def _kept(setup: RigSetup, minutes: float, data_dir: Path | None) -> bytes:
    """What the running rig has kept in the last minutes, without its port."""
    from rig.records import Store

    with Store.open(records_file(data_dir)) as store:
        return store.said_lately(setup.rig.name, minutes)
