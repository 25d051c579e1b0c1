import math

import numpy as np
import pytest
from numpy.typing import NDArray

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.gauges.instrument import Instrument
from sparkout.core.reel.candidates import candidate_readings
from sparkout.core.reel.explanations import Priors, log_prior
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.observations import Observation
from sparkout.core.reel.parameters import edge_rows
from sparkout.core.reel.state import ReelState, reel_state

N, L, R, HELIX = 11, 533.0, 63.5, 0.35
REEL = Reel(N, 2 * R, L, helix_angle=HELIX)
STATIONS = (0.0, L / 4, L / 2, 3 * L / 4, L)
GAUGES = [
    Instrument("circumference tape", "tape", 0.05, 0.02, 0.1),
    Instrument("dial", "dial", 0.01, 0.003, 0.005),
    Instrument("feeler", "feeler", 0.0, 0.002, 0.01),
    Instrument("straight edge", "straight edge", 0.0, 0.0, 0.01),
    Instrument("inside gauge", "inside gauge", 0.01, 0.01, 0.02),
]


class Truth:
    """A reel with faults put in by hand; its readings err like the gauges named."""

    def __init__(self, seed: int = 0, **faults: float) -> None:
        self.g = np.random.default_rng(seed)
        self.cone, self.barrel = faults.get("cone", 0.02), faults.get("barrel", 0.004)
        self.frame, self.bow = faults.get("frame", 0.01), faults.get("bow", 0.005)
        self.bend = faults.get("bend", 0.01)
        self.h = self.g.normal(0, 0.008, N)
        if "odd" in faults:
            self.h[3] += faults["odd"]
        self.h -= self.h.mean()

    def edge(self, x: float) -> NDArray[np.float64]:
        t = 2 * x / L - 1
        theta = 2 * np.pi * np.arange(N) / N + x * math.tan(HELIX) / R
        bow = self.bend * (1 - t * t)
        return R - 0.4 + self.cone * t / 4 + self.barrel * (1 / 3 - t * t) + bow * np.cos(theta - 0.7) + self.h

    def knife(self, x: float) -> float:
        t = 2 * x / L - 1
        return self.frame * t / 2 + self.bow * (1 / 3 - t * t)

    def rest_gaps(self) -> list[Observation]:
        level = max(self.edge(x).max() - self.knife(x) for x in np.linspace(0, L, 101))
        return [
            Observation(
                f"rest gap {x:g}", "rest gap", x, self.seen(level + self.knife(x) - self.edge(x).max(), 0.01), 0.01
            )
            for x in (0.0, L / 2, L)
        ]

    def tape(self) -> list[Observation]:
        return [
            Observation(
                f"tape {x:g}", "radius", x, self.seen(self.edge(x).mean(), 0.03), 0.03, group="tape", u_group=0.02
            )
            for x in (0.0, L / 2, L)
        ]

    def dials(self) -> list[Observation]:
        return [
            Observation(f"dial {x:g} blade {b + 1}", "run-out", x, self.seen(self.edge(x)[b] - R, 0.005), 0.005, (b,))
            for x in STATIONS
            for b in range(N)
        ]

    def rest_of_the_unit(self) -> list[Observation]:
        out = [Observation(f"frame {x:g}", "frame", x, self.seen(self.frame * x / L, 0.02), 0.02) for x in (0.0, L)]
        out += [Observation(f"knife {x:g}", "knife", x, self.seen(self.knife(x), 0.01), 0.01) for x in (0.0, L / 2, L)]
        for angle in (0.0, 1.5, 3.0, 4.5):
            swing = self.bend * math.cos(L / 2 * math.tan(HELIX) / R + angle - 0.7)
            out.append(Observation(f"shaft {angle}", "shaft", L / 2, self.seen(swing, 0.005), 0.005, angle=angle))
        return out

    def everything(self) -> list[Observation]:
        return self.rest_gaps() + self.tape() + self.dials() + self.rest_of_the_unit()

    def seen(self, value: float, u: float) -> float:
        return float(value + self.g.normal(0, u))


FAULTY = {
    ("cone",): {"cone": 0.5},
    ("barrel",): {"barrel": -0.15},
    ("frame out",): {"frame": 0.3},
    ("knife bowed",): {"bow": 0.15},
    ("shaft bent",): {"bend": 0.15},
    ("odd blade",): {"odd": 0.12},
}


@pytest.mark.parametrize("seed", [0, 1])
@pytest.mark.parametrize("faults", FAULTY, ids=str)
def test_full_readings_name_the_fault(faults: tuple[str, ...], seed: int) -> None:
    state = reel_state(REEL, Truth(seed, **FAULTY[faults]).everything())
    assert state.explanations[0].faults == faults
    assert state.explanations[0].weight > 0.9
    assert state.chance_of(faults[0]) > 0.9
    assert state.cannot_tell_apart() == ()
    assert state.outliers == ()
    assert state.consistency.probability > 0.001


def test_full_readings_of_a_sound_unit_say_so() -> None:
    state = reel_state(REEL, Truth(3).everything())
    assert state.explanations[0].faults == ()
    assert state.explanations[0].weight > 0.85
    assert state.explanations[0].work == frozenset()


def test_an_odd_blade_is_named() -> None:
    state = reel_state(REEL, Truth(1, odd=0.12).everything())
    assert state.explanations[0].odd_blade == 3
    assert state.blade_heights[3].value == pytest.approx(0.12 * 10 / 11, abs=0.03)
    assert sum(height.value for height in state.blade_heights) == pytest.approx(0.0, abs=1e-12)


def test_two_odd_blades_are_still_the_blades() -> None:
    truth = Truth(1, odd=0.12)
    truth.h[8] += 0.12
    state = reel_state(REEL, truth.everything())
    assert state.explanations[0].faults == ("odd blade",)
    assert state.explanations[0].odd_blade is None


@pytest.mark.parametrize(
    ("faults", "pair"),
    [
        ({"cone": 0.6}, {("cone",), ("frame out",)}),
        ({"frame": -0.3}, {("cone",), ("frame out",)}),
        ({"barrel": -0.15}, {("barrel",), ("knife bowed",)}),
        ({"bow": 0.15}, {("barrel",), ("knife bowed",)}),
    ],
)
def test_a_rest_gap_alone_does_not_tell_reel_from_frame_or_knife_and_says_what_would(
    faults: dict[str, float], pair: set[tuple[str, ...]]
) -> None:
    state = reel_state(REEL, Truth(5, **faults).rest_gaps())
    assert {e.faults for e in state.explanations[:2]} == pair
    assert state.explanations[0].weight < 10 * state.explanations[1].weight
    found = state.cannot_tell_apart(candidate_readings(REEL, GAUGES, state.parameters))
    assert {found[0].first.faults, found[0].second.faults} == pair
    assert found[0].separation is not None
    label = found[0].separation.candidate.label
    assert ("tape" in label and "both ends" in label) or "mounts" in label or "along" in label
    assert found[0].separation.evidence > 3.0


def test_with_only_tape_and_feeler_at_hand_the_tape_at_both_ends_separates_cone_from_frame() -> None:
    state = reel_state(REEL, Truth(5, cone=0.6).rest_gaps())
    candidates = candidate_readings(REEL, [GAUGES[0], GAUGES[2]], state.parameters)
    found = state.cannot_tell_apart(candidates)
    assert found[0].separation.candidate.label == "circumference tape at both ends, right against left"


def test_without_candidates_the_pair_is_still_named() -> None:
    state = reel_state(REEL, Truth(5, cone=0.6).rest_gaps())
    assert state.cannot_tell_apart()[0].separation is None


def test_the_numbers_put_in_come_out() -> None:
    truth = Truth(2, cone=0.5, bend=0.1)
    state = reel_state(REEL, truth.everything())
    for measured, value in (
        (state.cone, 0.5),
        (state.barrel, 0.004),
        (state.frame_out, 0.01),
        (state.knife_bow, 0.005),
        (state.mean_radius, R - 0.4),
    ):
        assert abs(measured.value - value) < 4 * measured.u
        assert measured.u < 2 * math.sqrt(2) * 0.03  # what two tape readings alone would leave of the cone
    low, high = state.interval("cone")
    assert low < 0.5 < high
    assert abs(state.diameter_at(L).value - 2 * truth.edge(L).mean()) < 4 * state.diameter_at(L).u
    g = np.random.default_rng(1)
    middle = state.eccentricity(g)["middle"]
    assert middle.interval[0] < 0.1 < middle.interval[1]
    wanted = float(np.ptp(truth.edge(L / 2)))
    run_out = state.run_out(L / 2, g)
    assert run_out.interval[0] - 0.005 < wanted < run_out.interval[1] + 0.005
    assert state.total_run_out(g).value.value > run_out.value.value
    low_point = state.lowest_point(g)
    lowest = min(truth.edge(x).min() for x in np.linspace(0, L, 101))
    assert low_point.interval[0] < lowest < low_point.interval[1]


def test_three_readings_give_an_answer_and_one_too() -> None:
    three = reel_state(REEL, Truth(4, cone=0.5).tape())
    assert three.explanations[0].faults == ("cone",)
    assert three.cone.u < 0.2
    one = reel_state(REEL, Truth(4, cone=0.5).tape()[:1])
    assert one.mean_radius.u < 0.6
    assert one.cone.u == pytest.approx(reel_state(REEL, []).cone.u, rel=0.05)


def test_a_single_gap_at_the_left_end_means_the_reel_is_larger_at_the_right_or_the_frame_out() -> None:
    state = reel_state(REEL, [Observation("gap", "rest gap", 0.0, 0.6, 0.02)])
    assert max(state.resting_places, key=state.resting_places.get) == "right end"
    assert sum(state.resting_places.values()) == pytest.approx(1.0)
    both = state.quantity(state.parameters.row("cone") / 2 - state.parameters.row("frame out"))
    told = {e.faults: mean for e, mean in zip(state.explanations, both.means, strict=True)}
    assert told[("cone",)] == pytest.approx(0.6, abs=0.02)
    assert told[("frame out",)] == pytest.approx(0.6, abs=0.02)
    assert abs(told[("barrel",)]) < 0.1  # touching in the middle leaves both ends open


def test_no_readings_give_the_prior() -> None:
    state = reel_state(REEL, [])
    prior = np.sort(np.exp(log_prior(Priors.from_limits(), state.posterior.faults)))[::-1]
    assert [e.weight for e in state.explanations] == pytest.approx(prior.tolist())
    assert state.cone.value == 0.0
    assert state.resting_places == {}
    assert (state.consistency.degrees, state.consistency.probability) == (0, None)
    assert state.outliers == ()


def mirrored(observations: list[Observation], reel: Reel) -> tuple[list[Observation], Reel]:
    """The same unit seen from the other end: x to L - x, helix the other way round."""
    other = Reel(reel.blade_count, reel.diameter, reel.length, -reel.helix_angle)
    return [
        Observation(o.label, o.kind, L - o.x, o.value, o.u, o.blades, o.angle, o.group, o.u_group, o.u_rail)
        for o in observations
    ], other


@pytest.mark.parametrize("faults", [{"cone": 0.5}, {"bow": 0.15}, {"barrel": 0.15}, {}], ids=str)
def test_mirrored_readings_give_the_mirrored_answer(faults: dict[str, float]) -> None:
    """Contact at an end, both, the middle, or anywhere; an angle from the marked blade is the same from either end."""
    readings = Truth(6, **faults).everything()
    here, there = reel_state(REEL, readings), reel_state(*reversed(mirrored(readings, REEL)))
    assert there.cone.value == pytest.approx(-here.cone.value, abs=1e-10)
    assert there.frame_out.value == pytest.approx(-here.frame_out.value, abs=1e-10)
    for name in ("mean_radius", "barrel", "knife_bow"):
        assert getattr(there, name).value == pytest.approx(getattr(here, name).value, abs=1e-10)
        assert getattr(there, name).u == pytest.approx(getattr(here, name).u, abs=1e-10)
    weights = {e.faults: e.weight for e in there.explanations}
    for e in here.explanations:
        assert weights[e.faults] == pytest.approx(e.weight, abs=1e-9)
    heights = [height.value for height in here.blade_heights]
    assert [height.value for height in there.blade_heights] == pytest.approx(heights, abs=1e-10)
    low, high = here.interval("cone")
    assert there.interval("cone") == pytest.approx((-high, -low), abs=1e-9)
    assert list(there.resting_places.values()) == pytest.approx(list(here.resting_places.values())[::-1], abs=1e-9)


def test_symmetric_gaps_leave_the_cone_at_nothing() -> None:
    for gaps in ((0.0, 0.2, 0.0), (0.2, 0.0, 0.2), (0.0, 0.0, 0.0)):
        readings = [Observation("", "rest gap", x, v, 0.02) for x, v in zip((0.0, L / 2, L), gaps, strict=True)]
        state = reel_state(REEL, readings)
        assert state.cone.value == pytest.approx(0.0, abs=1e-12)
        assert sum(state.interval("cone")) == pytest.approx(0.0, abs=1e-9)


def test_an_outlying_reading_is_flagged_and_kept_and_the_answer_without_it_given() -> None:
    readings = Truth(7).everything()
    place = next(i for i, o in enumerate(readings) if o.kind == "run-out" and o.x == L / 2)
    wrong = readings[place]
    readings[place] = Observation(wrong.label, wrong.kind, wrong.x, wrong.value + 0.254, wrong.u, wrong.blades)
    state = reel_state(REEL, readings)
    assert [o.index for o in state.outliers] == [place]
    assert state.outliers[0].label == wrong.label
    assert state.outliers[0].standardised > state.outliers[0].limit
    assert len(state.observations) == len(readings)
    assert len(state.posterior.design.values) == len(readings)
    assert state.without_outliers is not None
    assert len(state.without_outliers.observations) == len(readings) - 1
    honest = reel_state(REEL, [o for i, o in enumerate(readings) if i != place])
    assert state.without_outliers.cone == honest.cone
    assert state.consistency.birge_ratio > state.without_outliers.consistency.birge_ratio


def test_sound_readings_are_seldom_flagged() -> None:
    """At level 0.01 per visit, 40 visits should flag about 0.4 times; more than 4 has chance below 1e-4 (binomial)."""
    flagged = sum(
        bool(reel_state(REEL, Truth(100 + i).tape() + Truth(100 + i).dials()[:22]).outliers) for i in range(40)
    )
    assert flagged <= 4


def map_by_hand(state: ReelState, x: NDArray[np.float64], draws: int) -> NDArray[np.float64]:
    drawn = state.mixture.draw(draws, np.random.default_rng(3))
    return np.einsum("bsp,dp->dbs", edge_rows(REEL, x), drawn[:, : 11 + N])


def test_radius_map_mean_and_sd_agree_with_draws() -> None:
    """Linear route against simulation (JCGM 101); 20,000 draws: 5 standard errors of mean and sd."""
    state = reel_state(REEL, Truth(8, cone=0.3).tape() + Truth(8, cone=0.3).rest_gaps())
    x = np.array([0.0, 100.0, 533.0])
    mean, sd = state.radius_map(x)
    drawn = map_by_hand(state, x, 20_000)
    assert np.abs(drawn.mean(axis=0) - mean).max() < 5 * sd.max() / math.sqrt(20_000)
    assert drawn.std(axis=0) == pytest.approx(sd, rel=0.1)
    with pytest.raises(OutOfRange, match="x"):
        state.radius_map(np.array([600.0]))


def test_quantities_by_name_or_row_and_unknown_ones_refused() -> None:
    state = reel_state(REEL, Truth(9).tape())
    row = np.zeros(11 + N)
    row[1] = 0.5
    assert state.quantity(row, 1.0).measured().value == pytest.approx(1 + state.cone.value / 2)
    with pytest.raises(NotEnough, match="taper"):
        state.interval("taper")
    with pytest.raises(OutOfRange, match="fault"):
        state.chance_of("taper")
    with pytest.raises(OutOfRange, match="outlier_level"):
        reel_state(REEL, [], outlier_level=0.0)
    for call in (
        lambda: state.diameter_at(-1.0),
        lambda: state.run_out(math.nan, np.random.default_rng()),
        lambda: state.draw(np.random.default_rng(), 1),
        lambda: state.lowest_point(np.random.default_rng(), stations=1),
        lambda: state.cannot_tell_apart(odds=0.5),
        lambda: state.generalised_least_squares(99),
    ):
        with pytest.raises(OutOfRange):
            call()
