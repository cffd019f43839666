"""A plot of points against the curve, as plain data: plotly draws it, here or on the Desk. Pure.

What is shown are the deviations: on a plot of the values themselves every line looks perfect.
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any, Final

INK, WATER, FLAG, PENCIL = "#1c2a38", "#2c6e91", "#a83a24", "#655e50"
_MARKS: Final = {"up": ("triangle-up", WATER), "down": ("triangle-down", FLAG)}


def deviations(
    rows: Sequence[Mapping[str, Any]], unit: str, band: Sequence[tuple[float, float]] = ()
) -> dict[str, Any]:
    """Return the figure.

    Args:
        rows: with `number`, `known`, `off`, `off_sd` and `going` ("up" or "down").
        band: corners (known, largest allowed deviation), from the left; drawn on both sides.
    """
    data: list[dict[str, Any]] = []
    for side in (1, -1) if band else ():
        data.append(
            {
                "x": [known for known, _ in band],
                "y": [side * most for _, most in band],
                "mode": "lines",
                "line": {"color": PENCIL, "dash": "dash", "width": 1.5},
                "hoverinfo": "skip",
                "name": "largest error allowed",
                "showlegend": side == 1,
            }
        )
    for going, (symbol, colour) in _MARKS.items():
        part = [row for row in rows if row["going"] == going]
        data.append(
            {
                "x": [row["known"] for row in part],
                "y": [row["off"] for row in part],
                "text": [f"point {row['number']}" for row in part],
                "error_y": {"type": "data", "array": [2 * row["off_sd"] for row in part]},
                "mode": "markers",
                "marker": {"symbol": symbol, "size": 11, "color": colour},
                "name": f"going {going}",
                "hovertemplate": f"%{{text}}: %{{x:.6g}} {unit}<br>off %{{y:.3g}} {unit}"
                "<extra></extra>",
            }
        )
    axis = {"linecolor": INK, "gridcolor": "rgba(101,94,80,.25)", "automargin": True}
    layout = {
        "xaxis": {**axis, "title": {"text": f"known value, {unit}"}},
        "yaxis": {
            **axis,
            "title": {"text": f"reading less known value, {unit}"},
            "zeroline": True,
            "zerolinecolor": INK,
        },
        "font": {"color": INK},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "margin": {"l": 60, "r": 15, "t": 40, "b": 55},
        "legend": {"orientation": "h", "x": 0, "y": 1.02, "yanchor": "bottom"},
    }
    return {"data": data, "layout": layout}


def directions(known: Sequence[float]) -> list[str]:
    """Return "up" or "down" for each point, by whether the known value rose or fell to it."""
    going = ["up"]
    for before, after in pairwise(known):
        going.append("up" if after > before else "down" if after < before else going[-1])
    return going
