"""A tub's verdict in words for the teacher: what was found, and one thing to do."""

from math import ceil, inf, isfinite

from rig.lesson.tub_verdict import TubFinding, TubVerdict


def tub_lines(verdict: TubVerdict, spare_mm: float) -> list[str]:
    """Return the verdict in one to three plain lines."""
    match verdict.finding:
        case TubFinding.HOLDS:
            most = max(0.0, verdict.sure_high_ml_h)
            first = f"The tub holds water: any leak is under {_ml(most)} mL/h."
            return [first, _drying(verdict)]
        case TubFinding.LEAKS:
            low, high = verdict.leak_low_ml_h, verdict.leak_high_ml_h
            soonest, likely = verdict.hours_until_low(spare_mm)
            return [
                f"The tub leaks about {_ml(verdict.leak_ml_h)} mL/h ({_ml(low)} to {_ml(high)},"
                " drying allowed for).",
                f"The level is {spare_mm:g} mm lower in {_time(likely)}, at the soonest in"
                f" {_time(soonest)}. Take another tub, or seal it and check again.",
            ]
        case TubFinding.UNUSABLE:
            return [
                f"This watch cannot be used. {verdict.why}",
                "Aim the gauge at open water, well away from the walls, and start again.",
            ]
    lines = ["Not known yet whether the tub holds water."]
    if isfinite(verdict.sure_high_ml_h):
        hidden = f"A leak of up to {_ml(verdict.sure_high_ml_h)} mL/h could still hide."
        lines = [f"{lines[0]} {hidden}"]
    if verdict.more_minutes is not None:
        lines.append(f"{verdict.why} Watch {_time(verdict.more_minutes / 60)} longer.")
    else:
        lines.append(
            f"{verdict.why} Put an open pan of the same water beside the tub, and read both again"
            " after some hours."
        )
    return lines


def until_line(verdict: TubVerdict, when: str, hours: float, spare_mm: float) -> str:
    """Return whether the tub is good until a time of day, as one line."""
    low, high = (fall * hours for fall in (verdict.fall_low_mm_h, verdict.fall_high_mm_h))
    good = verdict.good_for(hours, spare_mm)
    if good:
        return f"Good until {when}: yes. The level falls by {max(high, 0):.1f} mm at most."
    if good is False:
        return (
            f"Good until {when}: no. The level falls by {low:.1f} mm or more;"
            f" {spare_mm:g} mm are to spare."
        )
    if not isfinite(high):
        return f"Good until {when}: not known yet. Watch longer."
    return (
        f"Good until {when}: not known yet. The level may fall by up to {high:.1f} mm;"
        f" {spare_mm:g} mm are to spare. Watch longer, or top it up before class."
    )


def _drying(verdict: TubVerdict) -> str:
    low, high = verdict.drying_low_ml_h, verdict.drying_high_ml_h
    return f"Drying takes {_ml(low)} to {_ml(high)} mL/h here, as the air goes; it is allowed for."


def _ml(rate: float) -> str:
    """Two figures are all that is known."""
    rate = max(rate, 0.0)
    if rate >= 100:
        return f"{round(rate, -1):.0f}"
    return f"{rate:.0f}" if rate >= 10 else f"{rate:.1f}"


def _time(hours: float) -> str:
    if hours == inf or hours > 99:
        return "days"
    minutes = ceil(60 * hours - 1e-9)
    if minutes < 60:
        return "1 minute" if minutes == 1 else f"{minutes} minutes"
    return f"{minutes // 60} h {minutes % 60:02d} min"
