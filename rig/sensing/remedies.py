"""What the teacher is told about a trouble: what happened, one thing to do, what goes on. Pure."""

from collections.abc import Collection

from rig.sensing.health import BOARD, Ailment, Trouble
from rig.setup import RigSetup

NAMES = {"load": "scale", "surface": "surface gauge", "rim": "rim gauge", "water": "thermometer"}
_SAYS = {
    Ailment.SILENT: "is silent",
    Ailment.NO_ECHO: "hears no echo",
    Ailment.SATURATED: "is at the end of its range",
    Ailment.FROZEN: "shows one number and stands still",
}
_SCALE = {
    Ailment.SILENT: "Push its plug in until it clicks",
    Ailment.SATURATED: "Take off what presses on it and push its plug in",
    Ailment.FROZEN: "Pull its plug and push it in again",
}
_BEAM = {
    "surface": "Clear its beam and push its plug in",
    "rim": "Bring the flag back under it, and push its plug in",
}


def line_for(
    trouble: Trouble, setup: RigSetup, out: Collection[str], running: bool, item: str | None
) -> str:
    """Return one line for the teacher.

    Args:
        out: all channels that are in trouble.
        running: whether a trial is going on, so that something has to go on by hand.
        item: what the children put aboard, None if the rig file does not say.
    """
    if trouble.channel == BOARD and trouble.ailment is Ailment.RESTARTED:
        return (
            "The board restarted. Look whether its USB plug sits loosely; nothing kept is lost,"
            " and the trial goes on."
        )
    if trouble.channel == BOARD:
        by_hand = "; go on by counting" if running and item else ""
        return f"The board is silent. Push its USB plug in until it clicks{by_hand}."
    what = f"The {NAMES[trouble.channel]} {_SAYS[trouble.ailment]}."
    match trouble.channel:
        case "load":
            do = _SCALE[trouble.ailment]
            goes_on = "go on by counting" if item else "freeboard goes on, loads do not"
        case "surface" | "rim":
            frozen = trouble.ailment is Ailment.FROZEN
            do = _SCALE[Ailment.FROZEN] if frozen else _BEAM[trouble.channel]
            goes_on = what_sees(setup, out)
        case _:
            do, goes_on = "Push its plug in", "20 deg C is taken"
    return f"{what} {do}; {goes_on}." if running else f"{what} {do}."


def what_sees(setup: RigSetup, out: Collection[str]) -> str:
    """How freeboard and sinking are followed with the gauges that are left."""
    if setup.rim is not None and "rim" not in out:
        return "the rim gauge goes on with the load"
    if setup.surface is not None and setup.tub is not None and "surface" not in out:
        return "the water level goes on telling"
    return "from now on tap Sunk yourself, and read the freeboard with a ruler"
