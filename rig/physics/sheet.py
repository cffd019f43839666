"""What a sheet of material can carry at best: the tray folded from it (the open-box problem)."""

from dataclasses import dataclass
from math import sqrt

from rig.errors import OutOfRange
from rig.physics.hulls import Box
from rig.physics.hulls.hull import require_positive


@dataclass(frozen=True, slots=True)
class Fold:
    """One tray of the sheet: how high its walls are, what it holds and carries."""

    wall_mm: float
    volume_ml: float
    capacity_g: float


@dataclass(frozen=True)
class SheetPlan:
    """The material's ceiling.

    Attributes:
        box: the tray that carries most.
        best: its figures.
        folds: capacity by wall height, evenly from low to nearly closed.
    """

    box: Box
    best: Fold
    folds: tuple[Fold, ...]


def best_wall_mm(
    length_mm: float, beam_mm: float, sheet_g: float = 0.0, density_g_ml: float = 1.0
) -> float:
    """Return the wall height at which a tray of a sheet carries most [mm].

    Corners folded in keep the sheet's whole mass, and mass then does not matter: pass 0. With
    the corner squares cut off and thrown away the tray gets lighter: pass the sheet's mass.

    Args:
        length_mm, beam_mm: of the sheet [mm].
        sheet_g: mass of the whole sheet if its corners are cut off [g].
        density_g_ml: of the water [g/ml].

    Raises:
        OutOfRange: no sheet, or one too heavy to float as a tray.

    Source:
        maximum of x (a - 2x) (b - 2x), OpenStax Calculus volume 1, 4.7; with the corners' mass
        the quadratic 12 x^2 - (4 (a + b) - 8 s) x + a b = 0 by differentiation, s the sheet's
        mass for its area over the water's density.
    """
    require_positive("sheet", length_mm=length_mm, beam_mm=beam_mm)
    if not (sheet_g >= 0 and density_g_ml > 0):
        raise OutOfRange("A sheet cannot weigh less than nothing.", "Weigh the whole sheet.")
    a, b = length_mm, beam_mm
    s = 1000 * sheet_g / density_g_ml / (a * b)
    half = (a + b) - 2 * s
    if half <= 0 or half**2 < 3 * a * b:
        raise _too_heavy(sheet_g, a, b)
    # the smaller root, as a b over the larger one: no difference of nearly equal numbers
    return a * b / (2 * (half + sqrt(half**2 - 3 * a * b)))


def plan_sheet(
    length_mm: float,
    beam_mm: float,
    sheet_g: float,
    density_g_ml: float,
    corners_cut: bool = False,
    steps: int = 24,
) -> SheetPlan:
    """Return the best tray of a sheet, and how capacity changes with the walls' height.

    Args:
        length_mm, beam_mm: of the sheet [mm].
        sheet_g: its mass, 0 or more [g].
        density_g_ml: of the water [g/ml].
        corners_cut: whether the corner squares are cut off; else folded in.
        steps: how many wall heights to tabulate.

    Raises:
        OutOfRange: no sheet, or one too heavy to float as a tray.
    """
    best = best_wall_mm(length_mm, beam_mm, sheet_g if corners_cut else 0.0, density_g_ml)

    def fold(wall_mm: float) -> Fold:
        box = _tray(length_mm, beam_mm, wall_mm)
        cut = 4 * wall_mm**2 / (length_mm * beam_mm) if corners_cut else 0.0
        volume = box.volume_ml(wall_mm)
        return Fold(wall_mm, volume, volume * density_g_ml - sheet_g * (1 - cut))

    if fold(best).capacity_g < 0:
        raise _too_heavy(sheet_g, length_mm, beam_mm)
    most = min(length_mm, beam_mm) / 2
    walls = [most * (i + 0.5) / steps for i in range(steps)]
    return SheetPlan(
        _tray(length_mm, beam_mm, best), fold(best), tuple(fold(wall) for wall in walls)
    )


def _tray(length_mm: float, beam_mm: float, wall_mm: float) -> Box:
    return Box(length_mm - 2 * wall_mm, beam_mm - 2 * wall_mm, wall_mm)


def _too_heavy(sheet_g: float, length_mm: float, beam_mm: float) -> OutOfRange:
    return OutOfRange(
        f"A sheet of {sheet_g:g} g is too heavy for a tray of {length_mm:g} x {beam_mm:g} mm.",
        "Take a lighter material or a larger sheet.",
    )
