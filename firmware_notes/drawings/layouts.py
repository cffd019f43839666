"""The two layouts, to scale: one drawing unit is one millimetre of the default plan."""

from xml.sax.saxutils import escape

from rig.setup.parts import ECHO, Plan, spot_mm

PLAN = Plan()
TUB_HEIGHT = 200
DRAFT = 15
TABLE = 640  # y of the table top
STYLE = (
    "text{font-family:'DejaVu Sans',Arial,sans-serif;font-size:19px;fill:#212121}"
    ".title{font-size:28px;font-weight:bold}"
    ".part{fill:#eceff1;stroke:#37474f;stroke-width:2.5}"
    ".wood{fill:#efe3d0;stroke:#6d4c41;stroke-width:2.5}"
    ".water{fill:#cfe8f7}.line{fill:none;stroke:#37474f;stroke-width:2.5}"
    ".beam{fill:#ffe082;fill-opacity:.55}.thread{stroke:#00695c;stroke-width:2.5}"
    ".cable{fill:none;stroke:#546e7a;stroke-width:4;stroke-linejoin:round}"
    ".size{fill:none;stroke:#616161;stroke-width:1.5}.lead{stroke:#9e9e9e;stroke-width:1.5}"
    ".cell{fill:#b0bec5;stroke:#263238;stroke-width:2.5}"
)


def rect(x, y, w, h, kind):
    return f'<rect class="{kind}" x="{x:g}" y="{y:g}" width="{w:g}" height="{h:g}"/>'


def line(kind, *points):
    joined = " ".join(f"{x:g},{y:g}" for x, y in points)
    return f'<polyline class="{kind}" points="{joined}"/>'


def area(kind, *points):
    joined = " ".join(f"{x:g},{y:g}" for x, y in points)
    return f'<polygon class="{kind}" points="{joined}"/>'


def text(x, y, words, anchor="start", kind=""):
    named = f' class="{kind}"' if kind else ""
    return f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}"{named}>{escape(words)}</text>'


def size_up(x, top, bottom, words, side="start"):
    """An upright dimension line with its words beside it."""
    ticks = [line("size", (x - 7, y), (x + 7, y)) for y in (top, bottom)]
    at = x + 10 if side == "start" else x - 10
    return [
        line("size", (x, top), (x, bottom)),
        *ticks,
        text(at, (top + bottom) / 2 + 6, words, side),
    ]


def size_across(left, right, y, words):
    ticks = [line("size", (x, y - 7), (x, y + 7)) for x in (left, right)]
    return [
        line("size", (left, y), (right, y)),
        *ticks,
        text((left + right) / 2, y + 24, words, "middle"),
    ]


def called(x, y, words, to_x, to_y, anchor="start"):
    """A name with a thin line to what it names."""
    return [
        line("lead", (x + (-6 if anchor == "start" else 6), y - 6), (to_x, to_y)),
        text(x, y, words, anchor),
    ]


def side_view(left, floor, threads):
    """Tub, water, boat, flag, gauges on their beam, fence; `floor`: y of the tub's floor.

    The fence: threads from the beam with a weight at their end, else rods standing in the tub.
    """
    right, water = left + PLAN.tub_length_mm, floor - PLAN.water_mm
    middle, gauge = left + PLAN.tub_length_mm * 0.42, floor - PLAN.water_mm - PLAN.gauge_mm
    beside = left + PLAN.tub_length_mm * 0.82
    hull = PLAN.boat_length_mm / 2
    rim = water + DRAFT - PLAN.wall_mm
    flag = rim - PLAN.flag_mm
    parts = [rect(left, water, right - left, PLAN.water_mm, "water")]
    for x, bottom in ((middle, flag), (beside, water)):
        half = spot_mm(bottom - gauge, ECHO.beam_deg) / 2
        parts.append(area("beam", (x, gauge), (x - half, bottom), (x + half, bottom)))
    parts += [
        line(
            "line",
            (left, floor - TUB_HEIGHT),
            (left, floor),
            (right, floor),
            (right, floor - TUB_HEIGHT),
        ),
        area(
            "wood",
            (middle - hull, rim),
            (middle + hull, rim),
            (middle + hull - 12, water + DRAFT),
            (middle - hull + 12, water + DRAFT),
        ),
        line("line", (middle, water + DRAFT - 3), (middle, flag)),
        rect(middle - PLAN.flag_side_mm / 2, flag, PLAN.flag_side_mm, 4, "part"),
        rect(left - 72, gauge - 44, PLAN.tub_length_mm + 144, 20, "wood"),
    ]
    parts += [rect(x - 22, gauge - 24, 44, 24, "part") for x in (middle, beside)]
    for x in (middle - hull - 22, middle + hull + 22):
        parts.append(line("thread", (x, gauge - 24 if threads else rim - 60), (x, floor - 8)))
        parts.append(rect(x - 8, floor - 12, 16, 12, "cell"))
    parts += size_up(right - 30, gauge, water, f"{PLAN.gauge_mm:g}", "end")
    parts += size_up(middle - hull - 46, flag, rim, f"{PLAN.flag_mm:g}", "end")
    parts += size_up(left + 24, water, floor, f"{PLAN.water_mm:g}")
    return parts, {
        "gauge": gauge,
        "flag": flag,
        "middle": middle,
        "beside": beside,
        "right": right,
        "water": water,
        "rim": rim,
    }


def page(title, width, height, parts):
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img">',
            f"<title>{escape(title)}</title><style>{STYLE}</style>",
            f'<rect width="{width}" height="{height}" fill="#fff"/>',
            text(40, 48, title, kind="title"),
            text(40, 80, "To scale, sizes in mm. Seen from the side."),
            *parts,
            line("size", (width - 240, 60), (width - 140, 60)),
            line("size", (width - 240, 53), (width - 240, 67)),
            line("size", (width - 140, 53), (width - 140, 67)),
            text(width - 190, 48, "100 mm", "middle"),
            "</svg>",
            "",
        ]
    )


def stand(x, top, table):
    """A post on the table."""
    return [rect(x - 12, top, 24, table - top, "wood"), rect(x - 40, table - 14, 80, 14, "wood")]


def gantry(at, left, table):
    """Two posts bear the beam."""
    posts = (left - 60, at["right"] + 60)
    return [part for x in posts for part in stand(x, at["gauge"] - 60, table)]


def names(at, fence):
    """What the parts are called."""
    flag_x, fence_x = at["middle"] + 112, at["middle"] + 122
    return [
        text(at["middle"], at["gauge"] - 58, "rim gauge", "middle"),
        text(at["beside"], at["gauge"] - 58, "surface gauge", "middle"),
        *called(flag_x, at["flag"] - 14, "flag on its", at["middle"] + 32, at["flag"] + 1),
        text(flag_x, at["flag"] + 10, "light mast"),
        *called(fence_x, at["rim"] - 8, fence, at["middle"] + 98, at["rim"] + 2),
    ]


def electronics(at, table):
    """Board, computer and power bank beside the tub; the cable hangs in a loop below its plug."""
    x, box, post = at["right"] + 160, at["gauge"] + 30, at["right"] + 60
    cable = [
        (post, at["gauge"] - 34),
        (x - 28, at["gauge"] - 34),
        (x - 28, box + 130),
        (x + 26, box + 130),
        (x + 26, box + 84),
    ]
    return [
        *stand(x + 100, box + 20, table),
        rect(x, box, 194, 84, "part"),
        text(x + 97, box + 36, "board, computer,", "middle"),
        text(x + 97, box + 60, "power bank", "middle"),
        line("cable", *cable),
        text(x, box + 158, "low loop", "middle"),
    ]


def feed_tray():
    """Tub on the table, weights in a tray on the cell beside it."""
    left, cell = 340, 50
    parts, at = side_view(left, TABLE, threads=True)
    tray = [
        rect(cell, TABLE - 12, 160, 12, "wood"),
        rect(cell + 6, TABLE - 24, 40, 12, "cell"),
        rect(cell + 6, TABLE - 48, 130, 24, "cell"),
        rect(cell + 96, TABLE - 60, 40, 12, "cell"),
        rect(cell - 10, TABLE - 72, 180, 12, "wood"),
        line("line", (cell - 10, TABLE - 92), (cell - 10, TABLE - 72)),
        line("line", (cell + 170, TABLE - 92), (cell + 170, TABLE - 72)),
        text(cell + 80, TABLE - 130, "feed tray with", "middle"),
        text(cell + 80, TABLE - 106, "the weights", "middle"),
        line("lead", (cell + 70, TABLE + 18), (cell + 70, TABLE - 34)),
        text(cell + 70, TABLE + 38, "load cell", "middle"),
    ]
    across = size_across(left, at["right"], TABLE + 24, f"{PLAN.tub_length_mm:g}")
    everything = [
        line("line", (30, TABLE), (1340, TABLE)),
        *electronics(at, TABLE),
        *gantry(at, left, TABLE),
        *parts,
        *tray,
        *across,
        *names(at, "thread"),
    ]
    return page("Feed tray: what the tray has lost is aboard", 1370, 720, everything)


def tub_on_cell():
    """Tub, water and boat on the cell; gauges on posts that stand on the table."""
    left, table = 130, 740
    floor = table - 96
    parts, at = side_view(left, floor, threads=False)
    centre = left + PLAN.tub_length_mm / 2
    stops = [rect(x, floor + 22, 24, 74, "wood") for x in (left + 40, at["right"] - 64)]
    below = [
        rect(left + 10, floor + 2, PLAN.tub_length_mm - 20, 18, "wood"),
        rect(centre - 110, floor + 20, 60, 14, "cell"),
        rect(centre - 110, floor + 34, 220, 34, "cell"),
        rect(centre + 50, floor + 68, 60, 14, "cell"),
        rect(centre - 180, floor + 82, 360, 14, "wood"),
        line("lead", (centre, table + 14), (centre, floor + 54)),
        text(centre, table + 34, "load cell", "middle"),
        line("lead", (left + 52, table + 14), (left + 52, floor + 60)),
        text(left + 52, table + 34, "stop, 2 below the plate", "middle"),
    ]
    everything = [
        line("line", (30, table), (1150, table)),
        *electronics(at, table),
        *gantry(at, left, table),
        *parts,
        *stops,
        *below,
        *names(at, "rod"),
    ]
    return page("Tub on the cell: what the whole has gained is aboard", 1180, 800, everything)
