"""Everyday items to put aboard: published or computed masses, with their sources, as package data.

`everyday_items.csv`: `mass_g` with `low_g` to `high_g`, where single items lie; `packs` is the
share of a heap that is item and not gap; `water` and `hazards` are keys of `WATER` and `HAZARDS`.
Spheres pack to 0.6 when poured (G.D. Scott, Nature 188 (1960) 908-909: 0.60 loose, 0.64 shaken);
coins 0.55, washers 0.5 with their holes, clips 0.13 (common practice, no source).
"""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import pi, sqrt
from typing import Final

from rig.errors import RigError

# What stays on a wet item: a film of 0.05 mm (common practice, no source).
FILM_MM: Final = 0.05
# 16 CFR 1501: what fits a cylinder of 31.7 mm may choke a child under 3; 16 CFR 1500.19: a ball
# of up to 44.4 mm as well (both from memory).
SMALL_PART_MM, SMALL_BALL_MM = 31.7, 44.4

WATER: Final = {
    "sound": "does not mind water",
    "rusts": "rusts: dry it after class",
    "corrodes": "corrodes where its copper skin is scratched: dry it, throw such ones out",
}
HAZARDS: Final = {
    "choking": "small enough to choke on: not where children under 3 are",
    "rolls": "rolls off the table: use a tray with a rim, pick up at once",
    "nickel": "has nickel: not for a child with a nickel allergy",
    "hygiene": "money is dirty: wash it before, and hands after",
    "sharp": "open ends are sharp",
}


@dataclass(frozen=True, slots=True)
class EverydayItem:
    """One row of the table."""

    name: str
    region: str
    mass_g: float
    low_g: float
    high_g: float
    size_mm: float
    shape: str
    solid_g_ml: float
    packs: float
    water: str
    hazards: tuple[str, ...]
    source: str
    how: str

    @property
    def spread_g(self) -> float:
        """Standard deviation of single items, taken as even between low and high [g]."""
        return (self.high_g - self.low_g) / sqrt(12)

    @property
    def bulk_g_ml(self) -> float:
        """Mass of a heap over the room it takes, gaps included [g/ml]."""
        return self.solid_g_ml * self.packs

    @property
    def wet_g(self) -> float:
        """About what clings to a wet one [g]."""
        volume_mm3 = 1000 * self.mass_g / self.solid_g_ml
        if self.shape == "ball":
            area_mm2 = pi * self.size_mm**2
        elif self.shape == "disc":
            face = pi / 4 * self.size_mm**2
            area_mm2 = 2 * face + pi * self.size_mm * volume_mm3 / face
        else:  # a wire of 1 mm
            area_mm2 = 4 * volume_mm3
        return area_mm2 * FILM_MM / 1000


@cache
def everyday_items() -> tuple[EverydayItem, ...]:
    """Return the table."""
    text = files("rig.setup").joinpath("everyday_items.csv").read_text(encoding="utf-8")
    return tuple(_item(row) for row in csv.DictReader(text.splitlines()))


def _item(row: Mapping[str, str]) -> EverydayItem:
    return EverydayItem(
        name=row["name"],
        region=row["region"],
        mass_g=float(row["mass_g"]),
        low_g=float(row["low_g"]),
        high_g=float(row["high_g"]),
        size_mm=float(row["size_mm"]),
        shape=row["shape"],
        solid_g_ml=float(row["solid_g_ml"]),
        packs=float(row["packs"]),
        water=row["water"],
        hazards=tuple(row["hazards"].split()),
        source=row["source"],
        how=row["how"],
    )


def find_item(name: str) -> EverydayItem:
    """Return the item of a name, or of the only name with these words. Raises RigError."""
    words = name.lower().split()
    exact = [item for item in everyday_items() if item.name.lower() == name.strip().lower()]
    found = exact or [
        item for item in everyday_items() if all(word in item.name.lower() for word in words)
    ]
    if len(found) == 1:
        return found[0]
    if not found:
        raise RigError(
            f'There is no "{name}" in the table.', "Weigh twenty of yours and use --weighed."
        )
    some = ", ".join(item.name for item in found[:6])
    raise RigError(f'"{name}" may be several things: {some}.', "Give the whole name.")
