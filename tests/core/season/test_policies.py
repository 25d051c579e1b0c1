"""Reels lived through: against a plain one-life loop, closed forms, and the main job's own plans."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sparkout.core.errors import BelowServiceLimit, NotEnough, OutOfRange
from sparkout.core.grinding.grinder import Grinder
from sparkout.core.grinding.relief import relief_plan
from sparkout.core.grinding.spin import spin_plan
from sparkout.core.measured import Measured
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.land import land_after_grind
from sparkout.core.season.interval import cost_an_hour
from sparkout.core.season.policies import grind_or_replace, lived, spread_of, ways_apart
from sparkout.core.season.reel_lives import Costs, Edge, ReliefGrinder, Upkeep, Way

SPIN = Grinder(Measured(0.7, 0.1), Measured(60, 20), 120, 20, 300, 40, 30, 0.02, 0.01, 3, 650, 1.5, 50, 5e4)
RELIEF = ReliefGrinder(0.05, 50.0, 10.0, 1, 5.0)
KEEP = Upkeep(
    Reel(8, 120.0, 500.0, land=1.0, relief_angle=math.radians(40)),
    112.0,
    Edge(60.0, 2.5, 0.6, 0.0004),
    Costs(400.0, 30.0, 1.0, 2.0, 3.0, 0.25, 40.0),
    SPIN,
    RELIEF,
)
SPIN_ONLY = Way("spin only", 40.0, Measured(0.15, 0.05), math.inf)
BOTH = Way("spin and relief", 40.0, Measured(0.15, 0.05), 0.0)


def seeded():
    return np.random.default_rng(11)


def one_life(keep, way, luck, normals):
    """One life, one step at a time, land from `land_after_grind`, relief from `relief_plan`: brute force."""
    reel, edge, costs = keep.reel, keep.edge, keep.costs
    radius, land, alpha = reel.diameter / 2, reel.land, reel.relief_angle
    base, base_land = radius, land  # where this facet was ground
    hours, cost, reliefs = 0.0, costs.new_reel, 0
    spread = math.log(1 + (way.stock.u / way.stock.value) ** 2)
    for spins, (u, z) in enumerate(zip(luck, normals, strict=True)):
        life = (
            edge.characteristic_life * edge.life_per_land ** (land - reel.land) * (-math.log(1 - u)) ** (1 / edge.shape)
        )
        cut = min(life, way.interval)
        room = (radius - keep.service_diameter / 2) / edge.wear
        share = min(1.0, room / cut)
        hours += cut * share
        cost += share * (costs.unplanned if life < way.interval else 0.0)
        radius -= edge.wear * cut * share
        stock = math.exp(math.log(way.stock.value) - spread / 2 + math.sqrt(spread) * z)
        if radius - stock < keep.service_diameter / 2:
            return hours, cost, spins, reliefs
        radius -= stock
        land = land_after_grind(base_land, alpha, base - radius, 2 * base)
        passes = math.ceil(stock / 0.01 - 1e-9)
        roughs = max(0, math.ceil((passes * 0.01 - 0.02) / 0.02 - 1e-9))
        bench = costs.handling + (roughs + min(2, passes) + 3) * (500 + 20) / 40 / 3600
        cost += costs.spin_wheel
        if land > way.relieve_at or land >= reel.blade_thickness:
            plan = relief_plan(
                reel, Measured(min(land, reel.blade_thickness), 0), reel.land, relief_infeed=0.05, traverse_speed=50,
                wheel_width=10,
                spark_out_passes=1, indexing_time=5.0,
            )  # fmt: skip
            bench += costs.relief_handling + plan.time / 3600
            cost += costs.relief_wheel
            reliefs += 1
            base, base_land, land = radius, reel.land, reel.land
        cost += bench * costs.hour
    raise AssertionError("luck used up")


@pytest.mark.parametrize("way", [SPIN_ONLY, BOTH, replace(BOTH, name="at a limit", relieve_at=1.8)])
def test_each_life_is_what_a_plain_loop_makes_of_it(way):
    lives = 12
    many = lived(KEEP, way, seeded(), lives)
    rng, luck, normals = seeded(), [], []  # the same draws
    for _ in range(200):
        luck.append(rng.random(lives))
        normals.append(rng.standard_normal(lives))
    for i in range(lives):
        hours, cost, spins, reliefs = one_life(KEEP, way, [u[i] for u in luck], [z[i] for z in normals])
        assert many.hours[i] == pytest.approx(hours, rel=1e-9)
        assert (many.spins[i], many.reliefs[i]) == (spins, reliefs)
        assert many.cost[i] == pytest.approx(cost, rel=1e-9)


def test_the_time_of_a_spin_is_the_main_jobs_plan():
    stations = np.linspace(0, 500, 6)
    # A true reel 0.16 mm above its finish.
    plan = spin_plan(
        KEEP.reel, np.full((8, 6), 60.0), stations, Measured(60.0, 1e-9), SPIN, 112.0, cone=Measured(0, 1e-9),
        land=Measured(1.0, 0.01), allowance=0.16,
    )  # fmt: skip
    free = replace(KEEP, service_diameter=116.0, edge=Edge(60, 2.5), costs=Costs(0.0, 1.0, 0.0))
    # Not worn so far that its relief would be gone.
    many = lived(free, Way("fixed", 40.0, Measured(0.16, 0.0), math.inf), seeded(), 10)
    assert many.bench / many.spins == pytest.approx(np.full(10, plan.time / 3600), rel=1e-9)


def test_an_endless_supply_of_metal_costs_the_renewal_reward_cost():
    """With thin stock and a free reel a life is hundreds of renewals, which Barlow and Hunter's sum prices."""
    keep = replace(KEEP, edge=Edge(60.0, 2.5), costs=Costs(0.0, 0.0, 1.0, 25.0, unplanned=100.0))
    many = lived(keep, Way("thin", 40.0, Measured(0.01, 0.0), math.inf), seeded(), 400)
    expected = cost_an_hour(40.0, 60.0, 2.5, 25.0, 125.0)
    found = many.cost_an_hour
    # One edge more than sharpenings: 400 in 401.
    assert abs(found.value - expected) < 5 * found.u + expected / 300
    blunt = replace(keep, costs=Costs(0.0, 0.0, 1.0, 25.0, blunt_hour=4.0))
    many = lived(blunt, Way("thin", 40.0, Measured(0.01, 0.0), math.inf), seeded(), 400)
    expected = cost_an_hour(40.0, 60.0, 2.5, 25.0, 0.0, 4.0)
    assert abs(many.cost_an_hour.value - expected) < 5 * many.cost_an_hour.u + expected / 300


def test_without_chance_the_number_of_spins_is_counted_on_fingers():
    keep = replace(KEEP, edge=Edge(1e4, 20.0))
    many = lived(keep, Way("fixed", 40.0, Measured(0.25, 0.0), math.inf), seeded(), 10)
    assert set(many.spins) == {16.0}  # 8 mm of diameter, 0.5 mm a spin
    assert set(many.hours) == {17 * 40.0}
    assert many.hours_to[-1] == pytest.approx(17 * 40.0)


def test_luck_shared_makes_a_difference_plainer():
    first, second = lived(KEEP, SPIN_ONLY, seeded(), 2000), lived(KEEP, BOTH, seeded(), 2000)
    apart = ways_apart(first, second)
    alone = math.hypot(first.cost_an_hour.u, second.cost_an_hour.u)
    assert apart.difference.value == pytest.approx(second.cost_an_hour.value - first.cost_an_hour.value)
    assert apart.difference.u < alone
    others = [lived(KEEP, BOTH, np.random.default_rng(s), 2000).cost_an_hour.value for s in range(30)]
    assert np.std(others) == pytest.approx(second.cost_an_hour.u, rel=0.4)
    with pytest.raises(OutOfRange, match="lives of the second way"):
        ways_apart(first, lived(KEEP, BOTH, seeded(), 100))


def test_relieving_pays_where_the_land_costs_life_and_not_where_it_does_not():
    def better(life_per_land):
        keep = replace(KEEP, edge=replace(KEEP.edge, life_per_land=life_per_land))
        return ways_apart(lived(keep, SPIN_ONLY, seeded()), lived(keep, BOTH, seeded())).difference.value

    assert better(1.0) > 0 > better(0.2)


def test_a_worn_reel_is_ground_while_its_hours_are_cheap():
    fresh = grind_or_replace(KEEP, SPIN_ONLY, 118.0, 1.5, 0.15, seeded())
    assert fresh.grind
    assert fresh.kept_cost < fresh.new_cost
    assert fresh.saved.value > 3 * fresh.saved.u
    even = replace(KEEP, edge=replace(KEEP.edge, life_per_land=1.0))
    # Where a wide land costs life, the last of the metal is not worth grinding; where it does not, it is used up.
    assert fresh.sharpenings < 10 < grind_or_replace(even, SPIN_ONLY, 118.0, 1.5, 0.15, seeded()).sharpenings
    deep = grind_or_replace(KEEP, SPIN_ONLY, 112.4, 1.5, 0.25, seeded())
    assert (deep.grind, deep.sharpenings, deep.kept_cost) == (False, 0, math.inf)
    # A bench hour so dear that a new reel's long first edges are cheaper than short ones on a wide land.
    dear = replace(KEEP, edge=Edge(60, 2.5, 0.05), costs=replace(KEEP.costs, new_reel=20.0, hour=200.0))
    worn = grind_or_replace(dear, SPIN_ONLY, 113.0, 4.0, 0.15, seeded())
    assert not worn.grind
    assert worn.kept_cost > worn.new_cost
    assert worn.saved.value == 0.0


def test_the_doubt_told_is_how_simulations_scatter():
    many = [grind_or_replace(KEEP, SPIN_ONLY, 118.0, 1.5, 0.15, np.random.default_rng(s), 300) for s in range(60)]
    alike = [one for one in many if one.sharpenings == 6]
    assert len(alike) > 30
    for of in (lambda one: one.kept, lambda one: one.saved):
        told = [of(one) for one in alike]
        assert np.std([one.value for one in told], ddof=1) == pytest.approx(np.mean([one.u for one in told]), rel=0.35)


def test_saving_is_what_replacing_at_once_would_cost_more():
    """Two renewal streams simulated plainly: this reel first, then new ones, against new ones at once."""
    keep = replace(KEEP, edge=Edge(1e4, 20.0), costs=Costs(400.0, 0.0, 0.0, 10.0))
    way = Way("fixed", 40.0, Measured(0.25, 0.0), math.inf)
    told = grind_or_replace(keep, way, 114.0, 1.0, 0.25, seeded(), 10)
    new_rate = (400 + 16 * 10) / (17 * 40)
    assert told.new_cost == pytest.approx(new_rate)
    assert (told.sharpenings, told.hours) == (4, 160.0)
    assert told.saved.value == pytest.approx(new_rate * 160 - 40)
    assert told.saved.u == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("keep", "way", "error", "named"),
    [
        ({"service_diameter": 130.0}, {}, OutOfRange, "service_diameter"),
        ({"edge": Edge(0.0, 2.0)}, {}, OutOfRange, "characteristic_life"),
        ({"edge": Edge(40.0, 0.1)}, {}, OutOfRange, "shape"),
        ({"edge": Edge(40.0, 2.0, 0.0)}, {}, OutOfRange, "life_per_land"),
        ({"edge": Edge(40.0, 2.0, 1.0, -1.0)}, {}, OutOfRange, "wear"),
        ({"costs": Costs(-1.0, 1, 1)}, {}, OutOfRange, "new_reel"),
        ({"relief": ReliefGrinder(0.0, 50, 10)}, {}, OutOfRange, "relief infeed"),
        ({}, {"stock": Measured(0.0, 0.1)}, OutOfRange, "stock of spin only"),
        ({}, {"interval": 0.0}, OutOfRange, "interval of spin only"),
        ({}, {"interval": math.nan}, OutOfRange, "interval of spin only"),
        ({}, {"relieve_at": -1.0}, OutOfRange, "relieve_at of spin only"),
        ({}, {"stock": Measured(4.5, 0.1)}, BelowServiceLimit, "no room"),
        ({"edge": Edge(40.0, 2.0)}, {"stock": Measured(0.001, 0.0)}, OutOfRange, "large enough"),
        ({"costs": Costs(1, 1, 1, blunt_hour=2.0)}, {"interval": math.inf}, NotEnough, "interval"),
    ],
)
def test_bad_input_is_named(keep, way, error, named):
    with pytest.raises(error, match=named):
        lived(replace(KEEP, **keep), replace(SPIN_ONLY, **way), seeded(), 10)


def test_bad_lives_and_bad_worn_reels_are_named():
    with pytest.raises(OutOfRange, match="lives"):
        lived(KEEP, BOTH, seeded(), 1)
    with pytest.raises(OutOfRange, match="diameter"):
        grind_or_replace(KEEP, BOTH, 125.0, 1.0, 0.1, seeded())
    with pytest.raises(OutOfRange, match="land"):
        grind_or_replace(KEEP, BOTH, 115.0, 9.0, 0.1, seeded())
    with pytest.raises(OutOfRange, match="first_stock"):
        grind_or_replace(KEEP, BOTH, 115.0, 1.0, 0.0, seeded())
    with pytest.raises(OutOfRange, match="coverage"):
        spread_of([1.0, 2.0], 1.0)
