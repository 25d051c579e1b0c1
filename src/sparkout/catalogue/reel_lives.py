"""A reel's whole life: grind once more or replace; spin only, or spin and relief."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from sparkout.catalogue.cut import BLADE_COUNT
from sparkout.catalogue.entry import Input, Result, calculation
from sparkout.catalogue.season import HOUR, money
from sparkout.core.grinding import usual
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from sparkout.core.season.policies import GrindOrReplace
    from sparkout.core.season.reel_lives import Lives, Upkeep, Way

COVERAGE = 0.9
LIVES = 2000.0
SOURCE = "renewal reward over simulated lives, own working; defaults are usual figures: common practice, no source"
VALIDITY = (
    "spins are independent; every sharpening makes the edge as sharp as any other on that land; intervals (90 %) are "
    "the simulation's own, what is put in counts as exact; infeeds, spark-out, wheel and indexing as usual"
)


def _length(key: str, words: str, low: float, high: float, **more: Any) -> Input:
    return Input(key, "length", "mm", words, low, high, **more)


def _hours(key: str, words: str, default: float) -> Input:
    return Input(key, "time", "h", words, 0.0, 100.0, default=default)


_RELIEVE_AT = _length(
    "relieve_at", "land above which relief is ground even if spun only; when it is gone if left out", 0.0, 30.0,
    optional=True,
)  # fmt: skip
_REEL = (
    BLADE_COUNT,
    _length("new_diameter", "diameter when new", 40.0, 600.0),
    _length("service_diameter", "least service diameter", 40.0, 600.0),
    _length("reel_length", "blade length along the axis", 50.0, 3000.0),
    money("new_reel", "a new reel, fitted", above=True),
    Input("interval", "time", "h", "hours of mowing between sharpenings", 0.0, 1e5, above=True),
    _length("stock", "off the radius at each spin", 0.0, 5.0, above=True),
    _length("stock_spread", "standard deviation of that from spin to spin", 0.0, 5.0, default=0.0),
    _length("wear", "off the diameter in 100 h of mowing", 0.0, 200.0, default=0.0),
    Input(
        "characteristic_life", "time", "h", "hours by which 63 % of edges are blunt; very long: none goes early",
        0.0, 1e5, above=True, default=1e5,
    ),
    Input("shape", "number", "", "Weibull shape: 1 accidents only, 3 and more clear wear", 0.2, 20.0, default=2.5),
    Input(
        "life_per_land", "fraction", "%", "share of its life that an edge keeps with each further mm of land",
        1.0, 100.0, default=100.0,
    ),
    _length("new_land", "land of a freshly relieved blade (usual)", 0.0, 20.0, default=usual.LAND),
    Input(
        "relief_angle", "angle", "deg", "relief facet to the tip-circle tangent (usual)", 5.0, 85.0,
        default=math.degrees(usual.RELIEF_ANGLE),
    ),
    _length("blade_thickness", "thickness of a blade (usual)", 0.5, 30.0, default=usual.BLADE_THICKNESS),
    money("hour", "an hour of technician and grinder", default=30.0),
    _hours("handling", "hours of each sharpening besides the passes (usual)", 2.0),
    _hours("relief_handling", "further hours of setting up for a relief (usual)", 0.5),
    money("wheel", "wheel used up by a spin, and again by a relief", default=3.0),
    money("unplanned", "further cost of a sharpening that came by itself", default=0.0),
    Input(
        "traverse_speed", "speed", "mm/s", "wheel's travel along the reel (usual)", 0.0, 1000.0, above=True,
        default=usual.TRAVERSE_SPEED,
    ),
    Input("lives", "count", "", "reels lived through", 10.0, 100_000.0, default=LIVES),
    Input("seed", "count", "", "seed of their luck", 0.0, 1e9, default=1.0),
)  # fmt: skip


def _upkeep(given: dict[str, Any]) -> Upkeep:
    from sparkout.core.grinding.grinder import GIVE_TO_START_WITH, Grinder
    from sparkout.core.measured import Measured
    from sparkout.core.reel.geometry import Reel
    from sparkout.core.season.reel_lives import Costs, Edge, ReliefGrinder, Upkeep

    reel = Reel(
        int(given["blade_count"]), given["new_diameter"], given["reel_length"], land=given["new_land"],
        relief_angle=given["relief_angle"], blade_thickness=given["blade_thickness"],
    )  # fmt: skip
    edge = Edge(
        given["characteristic_life"] / HOUR, given["shape"], given["life_per_land"], given["wear"] / 2.0 / 100.0
    )
    costs = Costs(
        given["new_reel"], given["hour"], given["handling"] / HOUR, given["wheel"], given["wheel"],
        given["relief_handling"] / HOUR, given["unplanned"],
    )  # fmt: skip
    spin = Grinder(
        GIVE_TO_START_WITH, Measured(usual.G_RATIO, 0.0), usual.WHEEL_DIAMETER, usual.WHEEL_WIDTH,
        usual.SPINDLE_SPEED, given["traverse_speed"], usual.WORK_SPEED, usual.ROUGH_INFEED, usual.FINISH_INFEED,
        usual.SPARK_OUT_PASSES, reel.length, usual.THREAD_PITCH, usual.DIVISIONS_PER_TURN, usual.SPECIFIC_ENERGY,
    )  # fmt: skip
    relief = ReliefGrinder(
        usual.RELIEF_INFEED, given["traverse_speed"], usual.WHEEL_WIDTH, indexing_time=usual.INDEXING_TIME
    )
    return Upkeep(reel, given["service_diameter"], edge, costs, spin, relief)


def _way(given: dict[str, Any], name: str, relieve_at: float) -> Way:
    from sparkout.core.measured import Measured
    from sparkout.core.season.reel_lives import Way

    return Way(name, given["interval"] / HOUR, Measured(given["stock"], given["stock_spread"]), relieve_at)


@calculation(
    "grind-or-replace",
    "Grind a blunt reel once more, or put a new one in",
    inputs=(
        *_REEL,
        _length("diameter", "diameter now, blunt", 40.0, 600.0),
        _length("land", "land now", 0.0, 20.0),
        _length(
            "first_stock",
            "off the radius at this grind; as at each spin when left out",
            0.0,
            20.0,
            above=True,
            optional=True,
        ),
        _length(
            "relieve_at",
            "land above which relief is ground; when the relief is gone if left out",
            0.0,
            30.0,
            optional=True,
        ),
    ),
    results=(
        Result("saved", "money", "", "by grinding on first; 0: replace it now"),
        Result("saved_from", "money", "", "its interval, from"),
        Result("saved_to", "money", "", "to"),
        Result("kept_cost", "money", "", "of an hour to come if ground on; that of a new one when no grind fits"),
        Result("new_cost", "money", "", "of an hour of a new reel over its whole life"),
        Result("sharpenings", "count", "", "that it is worth grinding for; 0 when none fits"),
        Result("hours", "time", "h", "of mowing those give"),
        Result("why", "words", "", "what is cheaper and why"),
    ),
    equation="greatest g h_k - c_k over k sharpenings; g = (new reel + all its sharpenings) / all its hours",
    source=SOURCE,
    validity=VALIDITY,
    example="blade_count=11 new_diameter=127 service_diameter=120 reel_length=533 new_reel=400 interval=80 stock=0.1 "
    "wear=0.12 diameter=122 land=1.3",
)
def grind_or_replace(**given: Any) -> dict[str, Any]:
    """Grind or replace."""
    import numpy as np

    from sparkout.core.season.policies import grind_or_replace

    at = given.get("relieve_at")
    way = _way(given, phrase("this way of working"), math.inf if at is None else at)
    first = given.get("first_stock") or given["stock"]
    rng = np.random.default_rng(int(given["seed"]))
    found = grind_or_replace(_upkeep(given), way, given["diameter"], given["land"], first, rng, int(given["lives"]))
    low, high = found.saved.interval(COVERAGE)
    return {
        "saved": found.saved.value,
        "saved_from": low,
        "saved_to": high,
        "kept_cost": found.new_cost if found.kept is None else found.kept.value,
        "new_cost": found.new_cost,
        "sharpenings": float(found.sharpenings),
        "hours": found.hours * HOUR,
        "why": _told(found),
    }


def _told(found: GrindOrReplace) -> str:
    if found.grind:
        return phrase("grind it: {why}", why=found.why)
    return phrase("replace it: {why}", why=found.why)


@calculation(
    "spin-or-relief",
    "Spin only, or relieve as well, over a reel's whole life",
    inputs=(*_REEL, _RELIEVE_AT),
    results=(
        Result("difference", "money", "", "of an hour cut, relieved at every sharpening less spun only"),
        Result("difference_from", "money", "", "its interval, from"),
        Result("difference_to", "money", "", "to"),
        Result("spin_cost", "money", "", "of an hour, spun only"),
        Result("relief_cost", "money", "", "of an hour, relieved as well"),
        Result("spin_hours", "time", "h", "a new reel lasts, spun only"),
        Result("relief_hours", "time", "h", "a new reel lasts, relieved as well"),
        Result("spin_sharpenings", "number", "", "in that time, spun only"),
        Result("relief_sharpenings", "number", "", "in that time, relieved as well"),
        Result("why", "words", "", "which is cheaper"),
    ),
    equation="(new reel + sharpenings) / hours of each way, life by life with the same luck",
    source=SOURCE,
    validity=VALIDITY,
    example="blade_count=11 new_diameter=127 service_diameter=120 reel_length=533 new_reel=400 interval=80 stock=0.1 "
    'wear=0.12 characteristic_life=100 unplanned=60 life_per_land="60 %"',
)  # fmt: skip
def spin_or_relief(**given: Any) -> dict[str, Any]:
    """Spin only against spin and relief."""
    import numpy as np

    from sparkout.core.season.policies import lived, ways_apart

    at = given.get("relieve_at")
    upkeep = _upkeep(given)

    def lives(way: Way) -> Lives:
        return lived(upkeep, way, np.random.default_rng(int(given["seed"])), int(given["lives"]))

    spun = lives(_way(given, phrase("spin only"), math.inf if at is None else at))
    relieved = lives(_way(given, phrase("spin and relief"), 0.0))
    apart = ways_apart(spun, relieved).difference
    low, high = apart.interval(COVERAGE)
    if low <= 0.0 <= high:
        why = phrase("the two cannot be told apart")
    else:
        why = phrase("spin only is cheaper") if low > 0.0 else phrase("spin and relief is cheaper")
    return {
        "difference": apart.value,
        "difference_from": low,
        "difference_to": high,
        "spin_cost": spun.cost_an_hour.value,
        "relief_cost": relieved.cost_an_hour.value,
        "spin_hours": float(spun.hours.mean()) * HOUR,
        "relief_hours": float(relieved.hours.mean()) * HOUR,
        "spin_sharpenings": float(spun.spins.mean()),
        "relief_sharpenings": float(relieved.spins.mean()),
        "why": why,
    }


ENTRIES = (grind_or_replace, spin_or_relief)
