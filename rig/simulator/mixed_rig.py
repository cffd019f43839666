"""Draws a classroom rig: layout, gauges, tub, cell, and everything that is imperfect about it.

The sizes are those the project set itself for its trials of mixed kinds; within them the draws
are our own invention (common practice, no source).
"""

from collections.abc import Callable
from math import exp, log
from random import Random
from typing import Any

from rig.physics.hx711 import counts_per_gram
from rig.setup import Boat, RigSetup
from rig.simulator.conditions import BoardPart, Cell, Conditions, Motion, Noise, Water
from rig.simulator.troubles import AmplifierPart, EchoPart, LinePart, RoomPart, RulerPart

GAUGE_SETS = {"rim+surface": 0.4, "surface": 0.25, "rim": 0.2, "none": 0.15}
MV_PER_V = 1.0  # rated output of the cells drawn
RULER_MM_SD, SCALE_G_SD, HEIGHT_MM_SD = 1.0, 0.5, 0.5
_TABLE_TOP_MM = 400.0

Sometimes = Callable[[str, float], bool]  # a kind and its chance -> whether it is there


def log_uniform(rng: Random, low: float, high: float) -> float:
    """Every power of ten alike."""
    return exp(rng.uniform(log(low), log(high)))


def draw_setup(
    rng: Random, boat: Boat, item: dict[str, float], laid_out_g: float
) -> tuple[RigSetup, str, Water, float]:
    """Return a rig for a boat, its gauge set, its water, and the rated load of its cell [g]."""
    gauges = rng.choices(list(GAUGE_SETS), list(GAUGE_SETS.values()))[0]
    layout = rng.choice(("feed-tray", "tub-on-cell"))
    water = Water(
        level_mm=round(rng.uniform(110, 150)),
        water_c=round(rng.uniform(12, 26), 1),
        thermometer=rng.random() < 0.6,
        tub_area_mm2=round(rng.uniform(40_000, 90_000)),
    )
    tub = _tub(rng, boat, small=gauges == "surface")
    if layout == "feed-tray":
        least_g = 60 + laid_out_g
    else:
        least_g = 400 + water.level_mm * _area_mm2(tub) / 1000 + laid_out_g
    cell_g = next((g for g in (1000.0, 5000.0, 10_000.0) if g > 1.1 * least_g), 20_000.0)
    per_g = counts_per_gram(cell_g, MV_PER_V) * rng.choice((-1, 1))
    sections: dict[str, Any] = {
        "rig": {"name": "mixed", "layout": layout, "hold_s": round(rng.uniform(3, 5), 1)},
        "load": {
            "zero_count": rng.randint(-150_000, 150_000),
            "count_per_g": round(per_g * rng.uniform(0.95, 1.05), 3),
            "count_per_g_sd": round(abs(per_g) * rng.uniform(0.0003, 0.0015), 4),
        },
        "item": item,
    }
    if gauges != "none":
        sections["tub"] = tub
        if "surface" in gauges:
            sections["surface"] = _gauge(rng, 330, 420)
        if "rim" in gauges:
            sections["rim"] = {**_gauge(rng, 380, 460), "flag_mm": rng.choice((40, 50, 60, 80))}
        if gauges == "rim+surface":  # one room, one thermometer on its wall
            sections["rim"]["air_c"] = sections["surface"]["air_c"]
    else:  # a rig that weighs only: nobody measured the tub
        water = water.model_copy(update={"tub_area_mm2": _area_mm2(tub)})
    return RigSetup.model_validate(sections), gauges, water, cell_g


def draw_conditions(
    rng: Random, setup: RigSetup, water: Water, cell_g: float
) -> tuple[Conditions, list[str]]:
    """Return what is imperfect about a rig, and the names of what the trial's kinds count."""
    kinds: list[str] = []

    def sometimes(kind: str, chance: float) -> bool:
        if rng.random() >= chance:
            return False
        kinds.append(kind)
        return True

    small = setup.rim is None
    words = log_uniform(rng, 0.0005, 0.01) if sometimes("wrong words", 0.5) else 0.0
    amplifier = AmplifierPart(
        wrong_words=words,
        capacity_g=cell_g,
        mv_per_v=MV_PER_V,
        creep_share=rng.choice((0.0, 0.0001, 0.0003)),
        drift_g_per_c=rng.uniform(-1e-4, 1e-4) * cell_g,  # 0.1 % of the rated load per 10 deg C
        span_error=rng.gauss(0, setup.load.count_per_g_sd / abs(setup.load.count_per_g)),
    )
    air_c = setup.surface.air_c if setup.surface else setup.rim.air_c if setup.rim else 20.0
    floats = setup.surface is not None and setup.surface.unit == "um"  # a float has no echo
    surface_echo = _echo(rng, "surface", sometimes, floats)
    rim_echo = _echo(rng, "rim", sometimes, False)
    line = LinePart()
    if sometimes("line", 0.6):
        line = LinePart(**{k: rng.uniform(0, 0.01) for k in ("lost", "torn", "repeated")})
    return Conditions(
        water=water,
        motion=Motion(bounce=rng.uniform(0.2, 0.7), wave_mm=log_uniform(rng, 0.1, 1.5)),
        noise=Noise(
            load_g=log_uniform(rng, 0.02, 0.2),
            surface_mm=log_uniform(rng, 0.3, 1.5 if small else 3.0),
            rim_mm=log_uniform(rng, 0.3, 3.0),
        ),
        cell=Cell(),
        board=_board(rng, sometimes),
        amplifier=amplifier,
        room=RoomPart(
            air_c=min(max(air_c + rng.gauss(0, 1.5), 5), 29), walk_c=rng.uniform(0.02, 0.2)
        ),
        surface_echo=surface_echo,
        rim_echo=rim_echo,
        line=line,
        ruler=RulerPart(measure_mm_sd=RULER_MM_SD, boat_g_sd=SCALE_G_SD),
    ), kinds


def _gauge(rng: Random, low_mm: int, high_mm: int) -> dict[str, Any]:
    return {
        "height_mm": float(rng.randint(low_mm, high_mm)),
        "height_mm_sd": HEIGHT_MM_SD,
        "unit": rng.choice(("um", "us")),
        "air_c": float(rng.choice((18, 20, 22, 24))),
    }


def _tub(rng: Random, boat: Boat, small: bool) -> dict[str, Any]:
    """Upright walls or a tapered bin; a small one is 1.7 to 3 times as large as the boat."""
    rim_mm2 = boat.hull.rim_mm2()
    area = rim_mm2 * rng.uniform(1.7, 3.0) if small else rng.uniform(40_000, 90_000)
    area = round(max(area, 1.7 * rim_mm2))
    if rng.random() < 0.6:
        return {"area_mm2": float(area)}
    flare = rng.uniform(0.0002, 0.001)  # growth of the area per millimetre of height
    levels = [0.0, 60.0, 120.0, 160.0, 220.0, _TABLE_TOP_MM]
    # areas about `area` where the water stands
    pours = [
        (level, round(area * (level * (1 - 130 * flare) + flare * level**2 / 2) / 1000, 1))
        for level in levels
    ]
    return {"pours": pours}


def _area_mm2(tub: dict[str, Any]) -> float:
    if "area_mm2" in tub:
        return float(tub["area_mm2"])
    return float(1000 * tub["pours"][-1][1] / _TABLE_TOP_MM)


def _echo(rng: Random, name: str, sometimes: Sometimes, floats: bool) -> EchoPart:
    part: dict[str, Any] = {
        "offset_mm": rng.gauss(0, HEIGHT_MM_SD),
        "under": rng.choice(("surface", "surface", "nothing")),  # still water is a good mirror
    }
    if sometimes(f"{name} misses echoes", 0.5):
        part["missing"] = log_uniform(rng, 0.005, 0.08)
        part["burst_s"] = rng.choice((0.0, 0.3, 1.5))
    if sometimes(f"{name} false echoes", 0.35):
        part["doubled"] = log_uniform(rng, 0.001, 0.01)
        part["halved"] = log_uniform(rng, 0.001, 0.01)
    if floats and sometimes("stuck float", 0.25):
        part["sticks_mm"] = rng.uniform(0.2, 1.0)
    return EchoPart(**part)


def _board(rng: Random, sometimes: Sometimes) -> BoardPart:
    fast = rng.random() < 0.4
    slow_gauges = fast and sometimes("slow gauges", 0.6)
    return BoardPart(
        rate_hz=80.0 if fast else 10.0,
        gauge_hz=rng.choice((10.0, 20.0)) if slow_gauges else None,
        first_seq=rng.randrange(2**16),
        first_ms=2**32 - 60_000 if rng.random() < 0.1 else rng.randrange(10**6),
        complains_after_s=1.0,
    )
