"""`tubrig plan pace`: will every group get its turn before the bell?"""

from collections.abc import Callable
from dataclasses import asdict, fields
from typing import Any, get_type_hints

import click

from rig.cli.output import json_option, print_json
from rig.lesson.pace import ASSURANCE, Lesson, Pace, PacePlan, plan_pace, play

_WORDS = {
    "block_min": "The whole block.",
    "talk_min": "Talk before the first boat.",
    "build_min": "Building, if in the same block.",
    "clear_min": "Clearing up at the end.",
    "groups": "Boats to test.",
    "tubs": "Tubs with a rig, side by side.",
    "capacity_items": "What the median boat carries.",
    "spread": "How far boats differ: sd of the logarithm; 0.5 is common.",
    "put_s": "A hand out and back, for each addition.",
    "item_s": "For each item of an addition.",
    "hold_s": "How long a load must be carried.",
    "start_s": "Boat in, rig zeroed.",
    "reset_s": "Boat out, items back on the tray.",
    "forecast_spread": "How far a forecast from the hull is off: sd as a share.",
}


def _lesson_options(command: Callable[..., Any]) -> Callable[..., Any]:
    kinds = get_type_hints(Lesson)
    for field in reversed(fields(Lesson)):
        flag = f"--{field.name.replace('_', '-')}"
        command = click.option(
            flag,
            field.name,
            type=kinds[field.name],
            default=field.default,
            show_default=True,
            help=_WORDS[field.name],
        )(command)
    return command


@click.command(epilog="Example: tubrig plan pace --groups 8 --block-min 45 --talk-min 10 --at 5")
@_lesson_options
@click.option("--at", "items", type=int, help="Also tell what so many items at a time come to.")
@click.option("--assurance", type=float, default=ASSURANCE, show_default=True, help="How sure.")
@click.option("--seed", type=int, default=1, show_default=True, help="Of the dice.")
@json_option
def pace(items: int | None, assurance: float, seed: int, as_json: bool, **given: float) -> None:
    """How many items at a time, so that every group gets its turn?

    The lesson is played 2000 times with boats that differ. Times are common practice until you
    give your own.
    """
    lesson = Lesson(**given)  # type: ignore[arg-type]  # click has made whole numbers of these
    plan = plan_pace(lesson, assurance, seed)
    asked = [play(lesson, items, how, seed) for how in (False, True)] if items else []
    if as_json:
        print_json({**told(plan), "asked": [asdict(pace) for pace in asked]})
        return
    for line in pace_lines(plan):
        click.echo(line)
    click.echo("")
    click.echo(
        "items at a time               half of classes   95 of 100 done by   all groups tested"
    )
    for each in sorted({*plan.tried, *asked}, key=lambda p: (p.by_forecast, p.items)):
        click.echo(_row(each))


def told(plan: PacePlan) -> dict[str, Any]:
    """The JSON of `tubrig plan pace`."""
    return {**asdict(plan), "test_min": plan.lesson.test_min, "words": pace_lines(plan)}


def pace_lines(plan: PacePlan) -> list[str]:
    """Return what to do, in plain lines."""
    lesson, sure = plan.lesson, f"{plan.assurance:.0%}"
    lines = [
        f"{lesson.test_min:g} of {lesson.block_min:g} minutes are left for {lesson.groups} boats."
    ]
    one = next(pace for pace in plan.tried if pace.items == 1 and not pace.by_forecast)
    if plan.fixed is None:
        lines.append(
            f"No fixed addition brings every group through with {sure} assurance:"
            f" one at a time takes {one.finish_min:.0f} minutes."
        )
    elif plan.fixed.items == 1:
        lines.append(f"One item at a time fits: every group gets its turn ({sure} sure).")
    else:
        lines.append(
            f"Always the same: put {plan.fixed.items} on at a time ({sure} sure). Results are then"
            f" known to {plan.fixed.items} items. One at a time would take"
            f" {one.finish_min:.0f} minutes."
        )
    if plan.by_forecast is None:
        lines.append("Loading by forecast does not fit either. Test fewer boats, or add a tub.")
    else:
        fine = plan.by_forecast.items
        lines.append(
            "Better, by forecast: many at a time while the boat is sure to carry them, then"
            f" {fine} at a time. Results are known to {'1 item' if fine == 1 else f'{fine} items'},"
            f" and it takes {plan.by_forecast.finish_min:.0f} minutes."
        )
        known = plan.fixed.items if plan.fixed else 1
        at = "1 item" if known == 1 else f"{known} items"
        lines.append(f"At the same resolution ({at}) the forecast saves {plan.saved_min:.0f} min.")
    return lines


def _row(pace: Pace) -> str:
    how = f"{pace.items} near the end, by forecast" if pace.by_forecast else f"{pace.items}"
    return (
        f"{how:<30}{pace.finish_min:11.0f} min{pace.finish_95_min:16.0f} min"
        f"{pace.all_tested:13.0%} of classes"
    )
