"""Draw the building guide's pictures: `python firmware_notes/drawings/draw.py` writes the SVGs.

Wiring comes from the TOML files beside this one. The layouts are to scale, from the plan that
`tubrig check parts` takes if it is told nothing.
"""

import sys
import tomllib
from itertools import pairwise
from pathlib import Path
from xml.sax.saxutils import escape

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from layouts import feed_tray, tub_on_cell  # noqa: E402

COLOURS = {
    "power": "#c62828",
    "ground": "#212121",
    "red": "#c62828",
    "white": "#9e9e9e",
    "green": "#2e7d32",
    "clock": "#6a1b9a",
    "data": "#1565c0",
    "trigger": "#b26a00",
    "cable": "#546e7a",
}
STYLE = (
    "text{font-family:'DejaVu Sans',Arial,sans-serif;font-size:15px;fill:#212121}"
    ".title{font-size:22px;font-weight:bold}.name{font-size:17px;font-weight:bold}"
    ".wire{fill:none;stroke-width:3;stroke-linejoin:round;stroke-linecap:round}"
    ".box{fill:#f5f7f8;stroke:#37474f;stroke-width:2}"
)


def wiring(name: str) -> str:
    """One sheet: boxes with pins, wires at right angles, dots, hops, resistors, notes."""
    sheet = tomllib.loads((HERE / f"{name}.toml").read_text(encoding="utf-8"))
    width, height = sheet["size"]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img">',
        f"<title>{escape(sheet['title'])}</title><style>{STYLE}</style>",
        f'<rect width="{width}" height="{height}" fill="#fff"/>',
        _text(40, 46, sheet["title"], "start", "title"),
    ]
    parts += [_wire(wire["path"], COLOURS[wire["colour"]]) for wire in sheet["wire"]]
    parts += [_hop(*hop["at"], COLOURS[hop["colour"]]) for hop in sheet.get("hop", [])]
    parts += [
        f'<circle cx="{x}" cy="{y}" r="5.5" fill="#212121"/>'
        for x, y in (dot["at"] for dot in sheet.get("dot", []))
    ]
    parts += [_resistor(*r["at"], r.get("upright", False)) for r in sheet.get("resistor", [])]
    parts += [part for box in sheet["box"].values() for part in _box(box)]
    parts += [_text(*note["at"], note["text"], "middle") for note in sheet.get("note", [])]
    return "\n".join([*parts, "</svg>", ""])


def _wire(path: list[list[int]], colour: str) -> str:
    for (x0, y0), (x1, y1) in pairwise(path):
        if x0 != x1 and y0 != y1:
            raise ValueError(f"a wire that is not at right angles: {path}")
    points = " ".join(f"{x},{y}" for x, y in path)
    return f'<polyline class="wire" stroke="{colour}" points="{points}"/>'


def _hop(x: int, y: int, colour: str) -> str:
    """The level wire steps over the upright one."""
    gap = f'<path d="M{x - 9},{y}h18" stroke="#fff" stroke-width="5"/>'
    over = f'<path d="M{x},{y - 4}v8" stroke="{COLOURS["power"]}" stroke-width="3"/>'
    arc = f'<path class="wire" stroke="{colour}" d="M{x - 9},{y}a9,9 0 0 1 18,0"/>'
    return gap + over + arc


def _resistor(x: int, y: int, upright: bool) -> str:
    w, h = (18, 50) if upright else (50, 18)
    return (
        f'<rect x="{x - w / 2:g}" y="{y - h / 2:g}" width="{w}" height="{h}" fill="#fff"'
        ' stroke="#37474f" stroke-width="2"/>'
    )


def _box(box: dict) -> list[str]:
    x, y, w, h = box["at"]
    parts = [f'<rect class="box" x="{x}" y="{y}" width="{w}" height="{h}" rx="6"/>']
    pins = [(x, at, x + 9, at + 5, "start", pin) for pin, at in box.get("left", {}).items()]
    pins += [(x + w, at, x + w - 9, at + 5, "end", pin) for pin, at in box.get("right", {}).items()]
    pins += [(at, y, at, y + 22, "middle", pin) for pin, at in box.get("top", {}).items()]
    pins += [
        (at, y + h, at, y + h - 11, "middle", pin) for pin, at in box.get("bottom", {}).items()
    ]
    for pin_x, pin_y, text_x, text_y, anchor, pin in pins:
        parts.append(f'<circle cx="{pin_x}" cy="{pin_y}" r="4.5" fill="#37474f"/>')
        parts.append(_text(text_x, text_y, pin, anchor))
    middle = _middle(box)
    for line, name in enumerate(box["name"]):
        top = box.get("name_y", y + h / 2 + 6 - 11 * (len(box["name"]) - 1))
        parts.append(_text(middle, top + 22 * line, name, "middle", "name"))
    return parts


def _middle(box: dict) -> float:
    """Where the name stands: the middle of what the pins' words leave free."""
    x, _, w, _ = box["at"]
    left = 9.5 * max((len(pin) for pin in box.get("left", {})), default=0)
    right = 9.5 * max((len(pin) for pin in box.get("right", {})), default=0)
    return x + (w + left - right) / 2


def _text(x: float, y: float, words: str, anchor: str, kind: str = "") -> str:
    named = f' class="{kind}"' if kind else ""
    return f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}"{named}>{escape(words)}</text>'


def drawings() -> dict[str, str]:
    """Every picture by its file's name."""
    return {
        "wiring.svg": wiring("wiring"),
        "divider.svg": wiring("divider"),
        "feed-tray.svg": feed_tray(),
        "tub-on-cell.svg": tub_on_cell(),
    }


if __name__ == "__main__":
    for file, text in drawings().items():
        (HERE / file).write_text(text, encoding="utf-8")
