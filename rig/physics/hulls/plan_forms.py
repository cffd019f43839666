"""Waterplanes by length and width alone, for whoever measures a boat without drawing it."""

from math import cos, pi, sin
from typing import Final, Literal

from rig.errors import OutOfRange
from rig.physics.hulls.outline import Polygon, rectangle

Form = Literal["box", "oval", "pointed"]
FORMS: Final[tuple[Form, ...]] = ("box", "oval", "pointed")
_CORNERS: Final = 64
_BOW: Final = 1 / 3  # of the length: a folded bow, about (our own estimate, no source)


def outline_of(form: Form, length_mm: float, beam_mm: float) -> Polygon:
    """Return a waterplane's outline [mm]: a rectangle, an ellipse, or one with a pointed bow.

    The ellipse is a polygon of 64 corners with the ellipse's own area.

    Raises:
        OutOfRange: a length or width that is not above 0, or no such form.
    """
    if form not in FORMS or not (length_mm > 0 and beam_mm > 0):
        raise OutOfRange(
            f"{length_mm:g} x {beam_mm:g} mm ({form}) is no outline.",
            f"Give length and width above 0, and one of {', '.join(FORMS)}.",
        )
    a, b = length_mm / 2, beam_mm / 2
    if form == "box":
        return rectangle(length_mm, beam_mm)
    if form == "pointed":
        shoulder = a - _BOW * length_mm
        return ((a, 0.0), (shoulder, b), (-a, b), (-a, -b), (shoulder, -b))
    step = 2 * pi / _CORNERS
    out = (step / sin(step)) ** 0.5  # the inscribed polygon would be smaller
    turns = [step * i for i in range(_CORNERS)]
    return tuple((out * a * cos(turn), out * b * sin(turn)) for turn in turns)
