"""What must hold of the whole answer, whatever the visit."""

from __future__ import annotations

import json
import math
import random
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.reckoning.answers import answer_of
from tests.reckoning.partial import Data, data_of, without
from tests.reckoning.written_again import from_the_front, in_other_units, swapped_words

from sparkout.core.practice.gauge_geometry import rest_gap, tape
from sparkout.core.practice.virtual_grind import TrueGrinder, spun_on
from sparkout.core.practice.virtual_unit import VirtualUnit, one_blade_off
from sparkout.core.reel.geometry import Reel
from sparkout.demonstration.technician import FIVE, THREE, Technician
from sparkout.demonstration.workshop import GAUGES, GRINDER, WANTED, limits
from sparkout.reckoning.answer import Answer, Spin, Untold
from sparkout.reckoning.as_data import _plain, as_data
from sparkout.reckoning.reckon import reckon
from sparkout.visit.reading import read_visit


def reckoned(data: Data) -> Answer:
    return reckon(read_visit(json.dumps(data, default=str)))


def plain(answer: Answer) -> Any:
    """The answer's numbers and words, without what the gauges showed (that stands as it was typed)."""
    data = json.loads(json.dumps(as_data(answer), allow_nan=False))
    for reading in data["readings"]:
        del reading["shown"]
    return data


def same(one: Any, other: Any, path: str = "") -> list[str]:
    """Return where two answers differ: numbers by more than 1e-9 of their size (and 1e-12 beyond), all else at all."""
    if isinstance(one, dict) and isinstance(other, dict):
        if one.keys() != other.keys():
            return [f"{path}: {sorted(one.keys() ^ other.keys())}"]
        return [d for key in one for d in same(one[key], other[key], f"{path}.{key}")]
    if isinstance(one, list) and isinstance(other, list):
        if len(one) != len(other):
            return [f"{path}: {len(one)} against {len(other)}"]
        return [d for i, (a, b) in enumerate(zip(one, other, strict=True)) for d in same(a, b, f"{path}[{i}]")]
    if isinstance(one, float) and isinstance(other, float | int):
        return [] if math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-9) else [f"{path}: {one!r} {other!r}"]
    return [] if one == other else [f"{path}: {one!r} {other!r}"]


@pytest.mark.parametrize("name", ["frame-out", "three-readings", "bent-shaft", "coned-as-left"])
def test_the_unit_each_length_is_typed_in_changes_nothing(name: str) -> None:
    for seed in (1, 2):
        again = reckoned(in_other_units(data_of(name), random.Random(seed)))
        assert same(plain(answer_of(name)) | {"questions": []}, plain(again) | {"questions": []}) == []


MIRRORED = {name: name for name in ("coned", "bent-shaft", "frame-out")}


@pytest.fixture(scope="module", params=list(MIRRORED))
def pair(request: pytest.FixtureRequest) -> tuple[Answer, Answer]:
    """An answer, and the answer for the same unit with left and right exchanged."""
    return answer_of(request.param), reckoned(from_the_front(data_of(request.param)))


SIGNS = {"mean radius": 1.0, "cone": -1.0, "barrel": 1.0, "frame out": -1.0, "knife bow": 1.0}


def test_mirroring_mirrors_the_state(pair: tuple[Answer, Answer]) -> None:
    here, there = (answer.diagnosis for answer in pair)
    for name, sign in SIGNS.items():
        one, other = here.state.quantity(name).measured(), there.state.quantity(name).measured()
        assert other.value == pytest.approx(sign * one.value, rel=1e-6, abs=1e-8), name
        assert other.u == pytest.approx(one.u, rel=1e-6), name
    assert np.allclose(there.heights[:, ::-1], here.heights, atol=1e-7)
    assert np.allclose(there.heights_sd[:, ::-1], here.heights_sd, atol=1e-7)
    weights = [{e.faults: e.weight for e in found.state.explanations} for found in (here, there)]
    assert weights[0] == pytest.approx(weights[1], rel=1e-6, abs=1e-9)
    assert there.informed == here.informed
    # from draws: equal within what 2,000 draws can tell
    for one, other in zip(here.run_out, reversed(there.run_out), strict=True):
        assert other[1].value.value == pytest.approx(one[1].value.value, abs=0.25 * one[1].value.u)


def test_mirroring_mirrors_verdicts_and_next_readings(pair: tuple[Answer, Answer]) -> None:
    for one, other in zip(pair[0].judged, pair[1].judged, strict=True):
        assert one.quantity == other.quantity
        assert (one.verdict is None) == (other.verdict is None)
        if one.verdict is not None and other.verdict is not None:
            assert one.verdict.outcome == other.verdict.outcome
            assert one.verdict.probability == pytest.approx(other.verdict.probability, abs=0.02)
    for first, second in zip(pair[0].diagnosis.apart, pair[1].diagnosis.apart, strict=True):
        assert first.first.faults == second.first.faults
        assert first.odds == pytest.approx(second.odds, rel=1e-5)
        assert first.separation is not None
        assert second.separation is not None
        assert first.separation.evidence == pytest.approx(second.separation.evidence, rel=1e-3)


def test_mirroring_mirrors_the_work(pair: tuple[Answer, Answer]) -> None:
    here, there = pair
    assert isinstance(here.spin, Spin)
    assert isinstance(there.spin, Spin)
    one, other = here.spin.plan, there.spin.plan
    assert other.finish_radius.value == pytest.approx(one.finish_radius.value, abs=0.1 * one.finish_radius.u)
    assert swapped_words(one.set_up.touch_off.large_end) == other.set_up.touch_off.large_end
    assert abs(other.set_up.move.turns) == pytest.approx(abs(one.set_up.move.turns), rel=1e-6)
    assert other.heaviest_stock == pytest.approx(one.heaviest_stock, abs=0.1 * one.finish_radius.u)
    for left, right in zip(one.land, reversed(other.land), strict=True):
        assert left.before.value == pytest.approx(right.before.value)
        assert left.after.value == pytest.approx(right.after.value, abs=0.01)
    if isinstance(here.knife, Untold):
        assert isinstance(there.knife, Untold)
    else:
        assert same(_plain(here.knife), _plain(there.knife)) == []
    if not isinstance(here.setting, Untold) and here.setting.clicks is not None:
        assert not isinstance(there.setting, Untold)
        assert there.setting.clicks is not None
        assert there.setting.clicks.left_whole == here.setting.clicks.right_whole
        assert there.setting.clicks.right_whole == here.setting.clicks.left_whole
    for proof, mirrored in zip(here.proofs, there.proofs, strict=True):
        assert swapped_words(proof.evidence.explanations[0].words) == mirrored.evidence.explanations[0].words
        assert proof.evidence.explanations[0].weight == pytest.approx(
            mirrored.evidence.explanations[0].weight, abs=0.02
        )


def test_more_readings_never_widen_an_interval_of_the_same_explanation() -> None:
    """The coned unit's readings in the order of the work; per explanation and place where the knife rests."""
    stages = ("every diameter", "rest gaps", "frame and knife straightness", "dial sweeps")
    before = None
    for count in range(len(stages), -1, -1):
        state = reckoned(without(data_of("coned"), *stages[:count])).diagnosis.state
        made, size = state.posterior, 11 + state.reel.blade_count
        whole = np.array(
            [[made.covariance(a, k)[:size, :size] for k in range(len(made.places))] for a in range(len(made.owner))]
        )
        if before is not None:
            known, better = np.broadcast_arrays(before, whole)
            assert np.linalg.eigvalsh(known - better).min() >= -1e-9 * state.priors.mean_radius_sd**2
        before = whole


GREENS = Reel(9, 127.0, 533.0, math.radians(20.0), 1.0, math.radians(45.0), 5.0)


@st.composite
def units(draw: st.DrawFn) -> VirtualUnit:
    """A worn greens reel with faults of workshop size."""
    small = st.floats(-0.01, 0.01)
    return VirtualUnit(
        GREENS,
        mean_radius=draw(st.floats(61.0, 63.2)),
        cone=draw(st.floats(-0.6, 0.6)),
        barrel=draw(st.floats(-0.05, 0.05)),
        offset=(draw(small), draw(small)),
        skew=(draw(small), draw(small)),
        blade_heights=one_blade_off(9, draw(st.integers(0, 8)), draw(st.floats(-0.03, 0.03))),
    )


def visited(unit: VirtualUnit, seed: int) -> Data:
    """What a technician writes down of it: tape, resting feeler and a dial on every blade, with gauges that err."""
    used = ("tape 1", "dial 1", "leaves 1")
    hand = Technician("technician A", [g for g in GAUGES if g.id in used], np.random.default_rng(seed))
    return {
        "visit": {"date": "2026-11-09", "demonstration": True},
        "unit": {"name": "drawn"},
        "reel": {
            "blades": 9,
            "diameter": "127 mm",
            "length": "533 mm",
            "helix": "20 deg",
            "land": "1 mm",
            "relief_angle": "45 deg",
            "blade_thickness": "5 mm",
        },
        "limits": limits("118 mm"),
        "gauges": hand.gauge_tables,
        "grinder": GRINDER,
        "wanted": WANTED,
        "readings": [
            *hand.along("diameter", "tape 1", unit, THREE, lambda x: tape(unit, x)),
            *hand.gaps("rest gap", "leaves 1", unit, THREE, lambda x: float(rest_gap(unit, x)[0]), set_up="rest"),
        ],
        "sweeps": [hand.swept_blades("dial 1", unit, FIVE, "rail A")],
    }


@settings(max_examples=12, deadline=None)
@given(units(), st.integers(0, 2**32 - 1))
def test_no_plan_removes_more_than_it_says_and_the_true_reel_is_true_after_it(unit: VirtualUnit, seed: int) -> None:
    """The passes of the plan run on the reel as it really is, by a virtual grinder that shares no code with the plan.

    The grinder's give and wheel are as the file has them, for a plan cannot know better.
    """
    spin = reckoned(visited(unit, seed)).spin
    assert isinstance(spin, Spin)
    plan = spin.plan
    machine = TrueGrinder(float(GRINDER["give"]), float(GRINDER["g_ratio"]), 150.0, 20.0)
    x = np.linspace(0.0, GREENS.length, 101)
    found, ground = unit.radius(x), spun_on(unit, machine, [p.infeed for p in plan.passes]).unit.radius(x)
    removed = found - ground
    # the wheel is fed from where it really touches, so what comes off the highest edge is what the plan says
    assert removed.max() <= plan.heaviest_stock + 0.004
    assert ground.min() >= plan.finish_radius.value - 4.0 * plan.finish_radius.u
    # and the reel as left meets what was wanted of it
    assert np.ptp(ground, axis=0).max() <= 0.03
    assert 2.0 * np.ptp(ground.mean(axis=0)) <= 0.05
    assert plan.as_left_run_out <= 0.03
    assert abs(plan.as_left_cone) <= 0.05


@settings(max_examples=8, deadline=None)
@given(units(), st.integers(0, 2**32 - 1))
def test_a_plan_never_goes_below_the_service_limit(unit: VirtualUnit, seed: int) -> None:
    data = visited(replace(unit, mean_radius=unit.mean_radius - 1.5), seed)
    data["limits"][0]["at_least"] = "121 mm"
    answer = reckoned(data)
    if isinstance(answer.spin, Untold):
        assert "below its least service diameter" in answer.spin.what
        assert answer.spin.wanted
    else:
        assert answer.spin.plan.finish_diameter.value >= 121.0
        assert answer.spin.plan.above_service.value >= 0.0
