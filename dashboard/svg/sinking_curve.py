"""Freeboard over load as a picture: the predicted line, its band, and the two capacities."""

from collections.abc import Iterator, Sequence

from dashboard.svg.elements import Point, path, picture
from dashboard.svg.frame import HEIGHT, WIDTH, Frame
from dashboard.words import WORDS


def sinking_picture(
    curve: Sequence[Point],
    band: Sequence[tuple[float, float, float]],
    level_g: float,
    held_back_g: float,
) -> str:
    """Return the picture.

    Args:
        curve: (load [g], freeboard [mm]) of the measured hull, to its capacity.
        band: (load [g], lowest, highest freeboard [mm]) that ruler and scale allow.
        level_g: capacity with the water level with the rim [g].
        held_back_g: the same where a dry rim holds back as much as it can [g].
    """
    words = WORDS["saved"]
    highest = max([1.0, *(mm for _, mm in curve), *(mm for _, _, mm in band)])
    lowest = min([0.0, *(low for _, low, _ in band)])
    frame = Frame(
        right=max(held_back_g, level_g, 1.0) * 1.04,
        low=min(lowest, -0.04 * highest),
        high=1.05 * highest,
        across=words["axis_load"],
        upward=words["axis_freeboard"],
    )

    def parts() -> Iterator[str]:
        if band:
            above = [frame.at(g, high) for g, _, high in band]
            below = [frame.at(g, low) for g, low, _ in reversed(band)]
            yield path([*above, *below], "band", closed=True)
        yield from frame.axes()
        yield frame.upright(level_g, "level")
        if held_back_g > level_g:
            yield frame.upright(held_back_g, "held-back")
        yield path([frame.at(g, mm) for g, mm in curve], "curve")

    start_mm = curve[0][1] if curve else 0.0
    says = words["curve_spoken"].format(mm=f"{start_mm:.0f}", g=f"{level_g:.0f}")
    return picture(WIDTH, HEIGHT, says, parts())
