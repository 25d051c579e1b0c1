"""Every picture, written to a folder, in both vocabularies and unit systems: for looking, not a test.

    python tests/drawing/gallery.py FOLDER [--png]

With --png each is also rendered as a phone shows it (390 px) and as it prints on A4. All data invented.
"""

from __future__ import annotations

import datetime
import math
import random
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from sparkout.drawing.age import Aged, fleet_age
from sparkout.drawing.amounts import Amount, amounts
from sparkout.drawing.clip import OwnBand, Speeds, clip_chart
from sparkout.drawing.cone import cone_drawn_out
from sparkout.drawing.explanations import explanation_bars
from sparkout.drawing.fan import Band, Grind, wear_fan
from sparkout.drawing.interval import interval_curve
from sparkout.drawing.knife import knife_section
from sparkout.drawing.land import land_close_up
from sparkout.drawing.load import Hours, load_by_week
from sparkout.drawing.manner import Manners
from sparkout.drawing.on_reel import knife_on_reel
from sparkout.drawing.paper import paper_grid
from sparkout.drawing.passes import pass_chart
from sparkout.drawing.prediction import predicted_against_measured
from sparkout.drawing.ribs import rib_causes
from sparkout.drawing.spectrum import envelope_spectrum
from sparkout.drawing.stance import DrawnStance, unit_on_its_rollers
from sparkout.drawing.trade import trade_line
from sparkout.drawing.unrolled import unrolled_reel
from sparkout.drawing.wall import wall_and_names
from sparkout.drawing.wall_given import Block, FreshFor, Row, Stretch, Wall

US = {"reel": "reel", "knife": "bedknife", "behind_centre": "behind center {value}"}


def mm(value: float) -> str:
    if abs(value) >= 20:
        return f"{value:.5g} mm"
    return f"{value:.3f}".rstrip("0").rstrip(".").replace("-", "−") + " mm"


def inches(value: float) -> str:
    if abs(value) < 5:
        return f"{value / 0.0254:.1f}".replace("-", "−") + " thou"
    return f"{value / 25.4:.3f}".rstrip("0").rstrip(".") + " in"


MANNERS: dict[str, Manners] = {
    "uk-mm": {"length": mm},
    "us-inch": {"length": inches, "words": US, "unit": 25.4},
}

STATIONS = [5.0, 135.0, 266.5, 400.0, 528.0]


def heights(blades: int, stations: list[float], length: float = 533.0) -> list[list[float]]:
    """A cone, a bent shaft and one low blade; invented."""
    rows = []
    for b in range(blades):
        t = [2 * x / length - 1 for x in stations]
        low = -0.07 if b == 3 else 0.007
        rows.append([-0.06 * s + 0.05 * (1 - s * s) * math.cos(2 * math.pi * b / blades + 0.6 * s) + low for s in t])
    return rows


def unrolled(manner: Manners) -> str:
    return unrolled_reel(
        heights(11, STATIONS),
        STATIONS,
        533.0,
        readings=[
            (5.0, None, "tape 124.95 mm"), (528.0, None, "tape 124.60 mm"),
            *((x, b, f"dial {b}") for x in (5.0, 266.5, 528.0) for b in range(11)),
        ],
        next_reading=(266.5, None),
        lowest=(528.0, 3),
        sd=[[0.006 if b % 2 else 0.02 for _ in STATIONS] for b in range(11)],
        **manner,
    )  # fmt: skip


def unrolled_many(manner: Manners) -> str:
    stations = [533.0 * i / 40 for i in range(41)]
    return unrolled_reel(
        heights(15, stations), stations, 533.0, lowest=(533.0, 3), next_reading=(266.5, 8),
        readings=[(0.0, 0, "a"), (533.0, 14, "b")], sd=[[0.01] * 41] * 15, **manner,
    )  # fmt: skip


def unrolled_small(manner: Manners) -> str:
    return unrolled_reel([[0.0, 0.1, 0.2], [-0.2, 0, 0.1], [0, 0, 0]], [0, 250, 500], 500.0, **manner)


def cone(manner: Manners) -> str:
    mean = [62.31, 62.285, 62.255, 62.21, 62.165]
    return cone_drawn_out(
        STATIONS, mean, [r - 0.012 for r in mean], [r + 0.012 for r in mean],
        finish_radius=62.09, service_radius=59.5,
        readings=[(5.0, 62.32, 0.03, "tape"), (266.5, 62.25, 0.03, "tape"), (528.0, 62.17, 0.03, "tape")], **manner,
    )  # fmt: skip


def cone_at_limit(manner: Manners) -> str:
    return cone_drawn_out(
        [0, 533], [60.0, 60.2], [59.9, 60.1], [60.1, 60.3], service_radius=59.85, finish_radius=59.9, **manner
    )


def land(manner: Manners) -> str:
    return land_close_up(62.3, 1.0, 1.23, math.radians(45), 0.23, 5.0, False, **manner)


def land_relieved(manner: Manners) -> str:
    return land_close_up(62.3, 1.9, 1.0, math.radians(30), 0.3, 4.0, True, **manner)


def land_gone(manner: Manners) -> str:
    return land_close_up(62.3, 3.7, 4.0, math.radians(45), 0.3, 4.0, False, **manner)


def knife(manner: Manners) -> str:
    top, front = math.radians(12), math.radians(5)

    def section(lip: float, front_stock: float) -> list[tuple[float, float]]:
        x = front_stock
        return [
            (x + lip * math.tan(front), -lip),
            (x, 0.0),
            (x + 12.0, -12 * math.tan(top)),
            (30, -2.6),
            (30, -6),
            (4, -6),
            (4, -lip),
        ]

    before = section(3.0, 0.0)
    after = [(x, y - 0.16) if i in (1, 2) else (x, y) for i, (x, y) in enumerate(section(3.0, 0.05))]
    return knife_section(before, after, top, front, edge_radius=0.12, stock_top=0.16, stock_front=0.05, **manner)


def knife_top_only(manner: Manners) -> str:
    top, front = math.radians(15), math.radians(2)
    before = [(0.1, -2.5), (0, 0), (25, -6.0), (25, -8), (0.2, -5)]
    after = [(0.1, -2.5), (0.02, -0.3), (25, -6.3), (25, -8), (0.2, -5)]
    return knife_section(before, after, top, front, edge_radius=0.2, stock_top=0.3, **manner)


def on_reel(manner: Manners) -> str:
    edge = (8.0, math.sqrt(62.35**2 - 64))
    return knife_on_reel(
        62.32, (58.0, 24.0), edge, 8.0, 0.03, math.atan2(*edge), ground_below=66.0, top_angle=math.radians(12),
        blade_count=11, **manner,
    )  # fmt: skip


def on_reel_far(manner: Manners) -> str:
    edge = (25.0, 90.0)
    return knife_on_reel(90.0, (-60.0, 120.0), edge, 25.0, 3.4, math.atan2(*edge), top_angle=0.05, **manner)


def passes(manner: Manners) -> str:
    rows, stock = [], 0.0
    for p in range(30):
        kind = "rough" if p < 18 else "finish" if p < 25 else "spark-out"
        infeed = {"rough": 0.015, "finish": 0.005, "spark-out": 0.0}[kind]
        bite = 0.7 * infeed if infeed else 0.002 * 0.3 ** (p - 25)
        stock += bite
        rows.append((str(p + 1), infeed, min(1.0, 0.06 * (p + 1)), bite, stock, kind))
    return pass_chart(rows, **manner)


def passes_few(manner: Manners) -> str:
    return pass_chart([("1", 0.02, 0.3, 0.014, 0.014, "rough"), ("2", 0.0, 1.0, 0.004, 0.018, "spark-out")], **manner)


def paper(manner: Manners) -> str:
    rows = [["clean", "clean", "uncut"], ["clean", "pinched", "uncut"], ["uncut"] * 3, ["pinched", "clean", ""]]
    rows += [["clean"] * 3] * 7
    return paper_grid(rows, ["left", "middle", "right"], expected=[["clean"] * 3] * 11, **manner)


def paper_many(manner: Manners) -> str:
    rows = [[("clean", "pinched", "uncut", "")[(b * s) % 7 % 4] for s in range(21)] for b in range(11)]
    return paper_grid(rows, [26.0 * s for s in range(21)], expected=[["clean"] * 21] * 11, **manner)


def explanations(manner: Manners) -> str:
    return explanation_bars(
        [("cone", 0.71), ("frame out", 0.18), ("cone, and one blade low", 0.08), ("sound", 0.004)], **manner
    )


def trade(manner: Manners) -> str:
    shares = [0.0, 0.005, 0.01, 0.02, 0.04, 0.08, 0.12]
    return trade_line(shares, [2.5 + 0.3 * s**0.5 for s in shares], chosen=(0.02, 2.5 + 0.3 * 0.02**0.5), **manner)


def prediction(manner: Manners) -> str:
    rows = [
        ("diameter, left end", 124.18, 0.03, 124.19, 0.05),
        ("diameter, right end", 124.18, 0.03, 124.26, 0.02),
        ("cone", 0.0, 0.02, 0.03, 0.03),
    ]
    return predicted_against_measured(rows, **manner)


MPH = 447.04
US_SPEEDS = Speeds(travel=lambda value: f"{value / MPH:.3g} mph", travel_unit=MPH)


def speeds(manner: Manners) -> Speeds | None:
    return US_SPEEDS if manner.get("unit") == 25.4 else None


def clip(manner: Manners) -> str:
    return clip_chart(
        (100.0, 260.0), (600.0, 2200.0), 11, [2.0, 3.0, 4.0, 5.0, 6.0, 8.0],
        band=OwnBand(3.2, 4.8, "house: greens"), now=(157.0, 1250.0), speeds=speeds(manner), **manner,
    )  # fmt: skip


def clip_of_a_land_drive(manner: Manners) -> str:
    return clip_chart(
        (0.0, 200.0), (0.0, 4000.0), 5, [5.0 * i for i in range(1, 13)],
        land_clip=32.0, speeds=speeds(manner), **manner,
    )  # fmt: skip


def causes_of_ribs(manner: Manners) -> str:
    rows = [
        ("once in its turn: one high blade, bent shaft or loose bearing", 50.0, 46.6, 53.6, 0.962),
        ("something that rolls, not listed", 60.0, 2.2, 1680.0, 0.02),
        ("the unit or machine bounces", 417.0, 217.0, 801.0, 0.01),
        ("front roller out of round or built up", 197.9, 194.2, 201.7, 0.005),
        ("the clip itself: travel per blade", 4.55, 4.24, 4.88, 0.003),
    ]
    return rib_causes((49.0, 47.6, 50.4), rows, **manner)


def causes_of_ribs_far(manner: Manners) -> str:
    return rib_causes(
        (4.5, 3.0, 7.0), [("belt", 4.5, 4.5, 4.5, 1.0), ("roller", 1500.0, 1499.0, 1501.0, 0.0)], **manner
    )


def stance(manner: Manners) -> str:
    angles = [math.radians(angle) for angle in (-0.4, 11.6, 5.4, 18.4, 7.2)]
    before = DrawnStance(63.5, 66.995, 8.0, 4.0, -80.0, 32.0, 90.0, 25.0, 0.0, *angles[1:])
    now = DrawnStance(62.5, 66.25, 8.76, 4.37, -80.1, 32.0, 90.0, 25.0, *angles)
    return unit_on_its_rollers(now, before=before, heights=(4.37, 4.46), foot_off=0.12, **manner)


def stance_ahead(manner: Manners) -> str:
    now = DrawnStance(101.5, 139.0, -4.0, 37.6, -150.0, 38.0, 160.0, 50.5, 0.05, 0.2, 0.1, 0.4, -0.04)
    return unit_on_its_rollers(now, heights=(37.6, 37.6), **manner)


def how_often(manner: Manners) -> str:
    hours = [8.0 + 0.5 * i for i in range(140)]
    costs = [(25.0 + 5.0 * (h / 30.0) ** 3.2) / h for h in hours]
    best = hours[costs.index(min(costs))]
    near = [h for h, cost in zip(hours, costs, strict=True) if cost <= 1.05 * min(costs)]
    return interval_curve(hours, costs, best=best, flat=(near[0], near[-1]), money=lambda v: f"{v:.2f}", **manner)


def next_budget(manner: Manners) -> str:
    rows = [
        Amount("labour at grinder and bench", 5210.0, 4300.0, 6200.0),
        Amount("new reels", 1260.0, 420.0, 2100.0),
        Amount("new bedknives", 640.0, 480.0, 820.0),
        Amount("wheels and sundries", 210.0, 170.0, 260.0),
        Amount("hire while blunt", 90.0, 0.0, 310.0),
    ]
    return amounts("budget", rows, show=lambda v: f"{v:,.0f}", **manner)


def parts_by_month(manner: Manners) -> str:
    rows = [Amount(m, v, lo, hi) for m, v, lo, hi in (("March", 1.2, 0, 3), ("April", 3.4, 1, 6), ("May", 0.0, 0, 0))]
    return amounts("demand", rows, show=lambda v: f"{v:.1f}", **manner)


def fan(manner: Manners) -> str:
    ahead = [500.0, 1000.0, 2000.0, 3000.0]
    chances = [[125.4 - (0.0014 - 0.0001 * k) * (h - 500.0) for h in ahead] for k in range(5)]
    return wear_fan(
        [0, 120, 240, 360, 500],
        [127.0, 126.8, 126.2, 126.05, 125.4],
        Band(ahead, *chances),
        limit=121.0,
        grinds=[Grind(200, 126.6, 126.3), Grind(430, 125.9, 125.5, True)],
        reached=(2600.0, 2900.0, math.inf),
        **manner,
    )


def fan_bare(manner: Manners) -> str:
    return wear_fan([0.0], [127.0], None, **manner)


def season(units: int, weeks: int = 12, first: int = 0, leading: bool = False) -> Wall:
    """A season of so many units; invented."""
    drawn = random.Random(units)
    rows, blocks = [], []
    weekend = tuple((7 * w + 5, 7 * w + 6) for w in range(weeks))
    for i in range(units):
        rows.append(Row(f"{'GTR'[i % 3]}{i // 3 + 1} {('left', 'middle', 'right')[i % 3]}", f"machine {i // 3 + 1}",
                        weekend if i % 6 < 3 else ()))  # fmt: skip
        for due in range(drawn.randrange(-3, 40), 7 * weeks, drawn.randrange(26, 50)):
            day = min(max(due + drawn.choice((-6, -3, -1, 0, 0, 4)), 0), 7 * weeks - 1)
            undone = drawn.random() < 0.03
            work = drawn.choice(("spin", "spin", "relief", "knife"))
            blocks.append(Block(i, None if undone else day, due, work, f"{rows[-1].name}, day {day}, due {due}",
                                drawn.random() < 0.1, f"?job={len(blocks)}" if leading else ""))  # fmt: skip
    fresh = [FreshFor("open competition", 40, tuple(range(min(units, 6)))), FreshFor("final", 61, (units - 1,))]
    away = [Stretch("technician A", 14, 20), Stretch("spin grinder", 30, 32), Stretch("technician A", 50, 50)]
    off = [day for day in range(7 * weeks) if day % 7 > 4]
    return Wall(datetime.date(2027, 3, 1), 7 * weeks - first, rows, blocks, fresh, away, off, first, today=9,
                show=lambda day: f"{day.day} {day:%b}")  # fmt: skip


def wide(manner: Manners) -> Manners:
    return {**manner, "width": max(1360.0, manner.get("width", 0.0))}


def wall(manner: Manners) -> str:
    return wall_and_names(season(14), **wide(manner))[0]


def wall_of_200(manner: Manners) -> str:
    return wall_and_names(season(200, leading=True), **wide(manner))[0]


def wall_narrow(manner: Manners) -> str:
    return wall_and_names(season(5, 5, 7), **manner)[0]


def load(manner: Manners) -> str:
    weeks = [f"{1 + 7 * w % 28} {'Mar' if w < 4 else 'Apr'}" for w in range(8)]
    rows = [
        Hours("technician A", [37.5] * 5 + [0.0] + [37.5] * 2, [30.0, 36.0, 37.5, 39.0, 12.0, 0.0, 20.0, 0.0]),
        Hours("spin grinder", [37.5] * 8, [11.0, 20.0, 41.0, 18.0, 6.0, 0.0, 9.0, 2.5]),
    ]
    return load_by_week(weeks, rows, time=lambda v: f"{v:.3g} h", **manner)


def age(manner: Manners) -> str:
    units = [
        Aged("G1 left", 0.0, (0.0, 0.0, 0.0, 0.0, 0.0)),
        Aged("G1 right", 1.3, (220.0, 300.0, 360.0, 430.0, 560.0)),
        Aged("T2 middle, the one with a long name on the north course", 4.8, (900.0, 1200.0, 1500.0, 2100.0, math.inf)),
        Aged("R1 left", 6.0, (1500.0, 1900.0, math.inf, math.inf, math.inf)),
    ]
    return fleet_age(units, **manner)


def spectrum(manner: Manners) -> str:
    f = [1.0 + 1.1 * k for k in range(400)]
    h = [1.5 + abs(math.sin(7.1 * x)) * 3 + 400 * math.exp(-(((x + 45) % 89.6 - 45) ** 2)) / (1 + x / 60) for x in f]
    defects = [
        (
            "outer race",
            89.6,
            "outer race: shown at 89.6 Hz; lines as strong come by chance in under 0.1 %",
            True,
        ),
        ("inner race", 135.4, "inner race: not shown at 135.4 Hz", False),
        ("ball", 117.8, "ball: nothing can be said at 117.8 Hz", False),
        ("cage", 10.0, "cage: not shown at 10.0 Hz", False),
    ]
    others = [("the blades", 275.0), ("belt", 31.0)]
    return envelope_spectrum(f, h, defects, others, ["it is short: cage and weak damage may not show"], **manner)


def spectrum_small(manner: Manners) -> str:
    return envelope_spectrum([1, 2], [0, 1], [("cage", 10.0, "cage", False)], **manner)


PICTURES: dict[str, Callable[[Manners], str]] = {
    "unrolled": unrolled,
    "unrolled-many": unrolled_many,
    "unrolled-small": unrolled_small,
    "cone": cone,
    "cone-at-limit": cone_at_limit,
    "land": land,
    "land-relieved": land_relieved,
    "land-gone": land_gone,
    "knife": knife,
    "knife-top-only": knife_top_only,
    "on-reel": on_reel,
    "on-reel-far": on_reel_far,
    "passes": passes,
    "passes-few": passes_few,
    "paper": paper,
    "paper-many": paper_many,
    "explanations": explanations,
    "trade": trade,
    "prediction": prediction,
    "clip": clip,
    "clip-of-a-land-drive": clip_of_a_land_drive,
    "causes-of-ribs": causes_of_ribs,
    "causes-of-ribs-far": causes_of_ribs_far,
    "stance": stance,
    "stance-ahead": stance_ahead,
    "how-often": how_often,
    "next-budget": next_budget,
    "parts-by-month": parts_by_month,
    "fan": fan,
    "fan-bare": fan_bare,
    "wall": wall,
    "wall-of-200": wall_of_200,
    "wall-narrow": wall_narrow,
    "load": load,
    "age": age,
    "spectrum": spectrum,
    "spectrum-small": spectrum_small,
}


def gallery() -> Iterator[tuple[str, str]]:
    """Every picture with its name."""
    for manner_name, manner in MANNERS.items():
        for name, draw in PICTURES.items():
            yield f"{name}-{manner_name}", draw(manner)


def rendered(folder: Path, name: str) -> None:
    """Write the picture as a phone shows it, and on an A4 page."""
    import font_source_sans_pro
    import typst

    fonts = typst.Fonts(
        include_system_fonts=False, font_paths=[str(Path(font_source_sans_pro.__file__).parent / "files")]
    )
    image = {"phone": f'#image("{name}.svg", width: 100%)', "a4": f'#image("{name}.svg")'}
    for kind, page in (("phone", "width: 390pt, height: auto, margin: 0pt"), ("a4", 'paper: "a4", margin: 15mm')):
        source = folder / f"{name}.{kind}.typ"
        source.write_text(f"#set page({page})\n{image[kind]}\n", encoding="utf-8")
        ppi = 144.0 if kind == "phone" else 80.0
        typst.compile(
            source, output=folder / f"{name}.{kind}.png", root=folder, font_paths=fonts, format="png", ppi=ppi
        )
        source.unlink()


def main(arguments: list[str]) -> None:
    folder = Path(arguments[0])
    folder.mkdir(parents=True, exist_ok=True)
    only = [argument for argument in arguments[1:] if not argument.startswith("-")]
    for name, svg in gallery():
        if only and not any(name.startswith(wanted) for wanted in only):
            continue
        (folder / f"{name}.svg").write_text(svg, encoding="utf-8")
        if "--png" in arguments:
            rendered(folder, name)


if __name__ == "__main__":
    main(sys.argv[1:])
