"""What trays of one sheet carry by the height of their walls, as a picture."""

from collections.abc import Iterator, Sequence

from dashboard.svg.elements import Point, path, picture
from dashboard.svg.frame import HEIGHT, WIDTH, Frame
from dashboard.words import WORDS


def sheet_picture(folds: Sequence[Point], best: Point) -> str:
    """Return the picture; both are wall height [mm] and what the tray carries [g]."""
    words = WORDS["saved"]
    afloat = [point for point in folds if point[1] >= 0]
    frame = Frame(
        right=max(mm for mm, _ in folds),
        low=0.0,
        high=1.08 * max(best[1], 1.0),
        across=words["axis_wall"],
        upward=words["axis_carries"],
    )

    def parts() -> Iterator[str]:
        yield from frame.axes()
        yield frame.upright(best[0], "level")
        yield path([frame.at(mm, g) for mm, g in afloat], "curve")

    says = words["sheet_spoken"].format(mm=f"{best[0]:.0f}", g=f"{best[1]:.0f}")
    return picture(WIDTH, HEIGHT, says, parts())
