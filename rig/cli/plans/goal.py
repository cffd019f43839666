"""`tubrig plan goal`: a load that a wanted share of groups should reach."""

import re
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from rig.cli.output import data_dir_option, json_option, print_json
from rig.cli.rigfiles import RIG_FILE
from rig.errors import RigError
from rig.lesson.earlier_boats import EarlierBoat, based_on, boats_from_text, kaplan_meier
from rig.lesson.goal import WANTED_SHARE, GoalPlan, plan_goal, thought_beforehand
from rig.physics.sheet import plan_sheet
from rig.physics.water import ROOM_C, water_density
from rig.records import TrialRow, data_folder, records_file
from rig.setup import read_setup


@click.command(
    epilog="Example: tubrig plan goal --carried '52 61 80+ 44' --dry-run 90 --goal 35    (80+ is"
    " a boat that never sank; without --carried the kept trials are taken)"
)
@click.option(
    "--share", type=float, default=WANTED_SHARE, show_default=True, help="So many should reach it."
)
@click.option("--carried", help='Earlier results in items, such as "52 61 80+ 44".')
@click.option("--dry-run", "dry_run", type=float, help="Items your own boat carried.")
@click.option("--sheet-mm", help="The sheet a boat is built of, such as 300x200.")
@click.option("--sheet-g", type=float, default=0.0, help="Its mass.")
@click.option("--item-g", type=float, help="Mass of one item. [default: the rig file's]")
@click.option("--goal", "asked", type=float, multiple=True, help="Tell of this goal as well.")
@click.option("--groups", type=int, default=7, show_default=True, help="In your class.")
@click.option("--setup", "setup_file", type=click.Path(path_type=Path), help="The rig file.")
@data_dir_option
@json_option
def goal(
    share: float,
    carried: str | None,
    dry_run: float | None,
    sheet_mm: str | None,
    sheet_g: float,
    item_g: float | None,
    asked: tuple[float, ...],
    groups: int,
    setup_file: Path | None,
    data_dir: Path | None,
    as_json: bool,
) -> None:
    """Which load will a wanted share of the groups reach?

    From earlier results, your own dry run, and what the material can carry at most.
    """
    if not 1 <= groups <= 60:
        raise RigError(f"{groups} groups cannot be.", "Give 1 to 60.")
    if item_g is not None and not 0 < item_g < 1e5:
        raise RigError(f"An item of {item_g:g} g cannot be.", "Weigh twenty and divide.")
    one_g = item_g or _item_g(setup_file, data_folder(data_dir))
    boats = boats_from_text(carried) if carried else _kept(one_g, data_dir)
    ceiling = _ceiling_items(sheet_mm, sheet_g, one_g) if sheet_mm else None
    plan = plan_goal(boats, thought_beforehand(ceiling, dry_run), share)
    told = goal_told(plan, asked, groups, one_g)
    if as_json:
        print_json(told)
        return
    for line in told["words"]:
        click.echo(line)
    click.echo("")
    click.echo(" goal     share that reaches it   (95 % interval)")
    for row in told["others"]:
        mark = "  <- this goal" if row["goal_items"] == plan.goal_items else ""
        click.echo(
            f"{row['goal_items']:5g}{row['share']:16.0%}            ({row['low']:.0%} to"
            f" {row['high']:.0%}){mark}"
        )


def goal_told(
    plan: GoalPlan, asked: tuple[float, ...], groups: int, item_g: float | None
) -> dict[str, Any]:
    """The JSON of `tubrig plan goal`."""
    sank = any(boat.sank for boat in plan.boats)
    return {
        "goal_items": plan.goal_items,
        "goal_g": None if item_g is None else plan.goal_items * item_g,
        "low_items": plan.low_items,
        "high_items": plan.high_items,
        "wanted_share": plan.wanted_share,
        "beforehand": asdict(plan.beforehand),
        "boats": [asdict(boat) for boat in plan.boats],
        "kaplan_meier": asdict(kaplan_meier(plan.boats)) if sank else None,
        "others": [_passing(plan, items) for items in _around(plan, asked)],
        "words": goal_lines(plan, asked, groups, item_g),
    }


def goal_lines(
    plan: GoalPlan, asked: tuple[float, ...], groups: int, item_g: float | None
) -> list[str]:
    """Return the goal in plain lines."""
    grams = "" if item_g is None else f" ({plan.goal_items * item_g:.0f} g)"
    low, high = plan.groups(plan.goal_items, groups)
    between = f"{low}" if low == high else f"{low} to {high}"
    lines = [
        f"Goal: {plan.goal_items} items{grams}. About {plan.wanted_share:.0%} of the groups should"
        f" reach it: {between} of {groups}.",
        f"This is {based_on(plan.boats)}, and on {plan.beforehand.why} (which counts as much as"
        f" {plan.beforehand.boats:g} boats).",
        f"The right goal lies between {plan.low_items} and {plan.high_items} items.",
    ]
    ceiling = plan.beforehand.ceiling_items
    if ceiling is not None:
        lines.append(f"The best tray of this sheet would carry {ceiling:.0f} items.")
        over = [boat for boat in plan.boats if boat.items > ceiling]
        if over:
            lines.append(
                f"{max(boat.items for boat in over):g} items were carried, more than the sheet"
                " allows: check the sheet's size and the item's mass."
            )
    for items in asked:
        share, _, _ = plan.passing(items)
        lines.append(f"A goal of {items:g} would be reached by {share:.0%}.")
    return lines


def kept_boats(rows: list[TrialRow], item_g: float | None) -> list[EarlierBoat]:
    """Return what kept trials carried, the last one of each boat and day; void ones count not.

    With `item_g`, loads are told in items of that mass, whatever item they were made of.
    """
    newest: dict[tuple[str, str, str], EarlierBoat] = {}
    for row in rows:  # newest first
        result = row.standing_result
        if result is None or result["outcome"] == "void":
            continue
        items = result["held_items"] if item_g is None else result["held_g"] / item_g
        if items is None or items < 0:
            continue
        key = (row.rig_name, row.boat_label, str(row.day))
        newest.setdefault(key, EarlierBoat(float(items), result["outcome"] != "afloat"))
    return list(newest.values())


def _kept(item_g: float | None, data_dir: Path | None) -> list[EarlierBoat]:
    path = records_file(data_dir)
    if not path.exists():
        return []
    from rig.records import Store

    with Store.open(path) as store:
        return kept_boats(store.trials(), item_g)


def _item_g(setup_file: Path | None, folder: Path) -> float | None:
    if setup_file is None and not (folder / RIG_FILE).exists():
        return None
    item = read_setup(setup_file or folder / RIG_FILE).item
    return item.mass_g if item else None


def _ceiling_items(sheet_mm: str, sheet_g: float, item_g: float | None) -> float:
    match = re.fullmatch(r"(\d+(?:\.\d+)?)\s*[xX*]\s*(\d+(?:\.\d+)?)", sheet_mm.strip())
    if match is None:
        raise RigError(f'"{sheet_mm}" is no sheet.', "Write length and width in mm: 300x200.")
    if item_g is None:
        raise RigError("How heavy is one item?", "Add --item-g, or name the rig file.")
    best = plan_sheet(float(match[1]), float(match[2]), sheet_g, water_density(ROOM_C)).best
    if best.capacity_g <= 0:
        raise RigError("This sheet carries nothing.", "Take a larger or lighter one.")
    return best.capacity_g / item_g


def _around(plan: GoalPlan, asked: tuple[float, ...]) -> list[float]:
    goal = plan.goal_items
    parts = {round(goal * part) for part in (0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0)}
    return sorted({*map(float, parts), *asked})


def _passing(plan: GoalPlan, items: float) -> dict[str, float]:
    share, low, high = plan.passing(items)
    return {"goal_items": items, "share": share, "low": low, "high": high}
