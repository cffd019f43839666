"""Calibration: points of raw number against known value, a curve through them, and doubts. Pure."""

from rig.sensing.calibrating.findings import findings
from rig.sensing.calibrating.fit import Estimate, Fit, LackOfFit
from rig.sensing.calibrating.fitting import fit_as_needed, fit_line, fit_parabola
from rig.sensing.calibrating.points import Point

__all__ = [
    "Estimate",
    "Fit",
    "LackOfFit",
    "Point",
    "findings",
    "fit_as_needed",
    "fit_line",
    "fit_parabola",
]
