"""The stubble map: against a slow loop that mows leaf by leaf, closed cases, the knife against brute force."""

import math

import numpy as np
import pytest
from tests.published.evidence import compared

from sparkout.core.cut.stubble import stubble
from sparkout.core.errors import Contradiction, OutOfRange
from sparkout.core.reel.geometry import Reel
from sparkout.core.ribs.stubble_map import STANDING, LeafGap, Mowing, Wave, knife_over, stubble_map

REEL = Reel(7, 140.0, 400.0, math.radians(22.0))
STATIONS = np.array([0.0, 130.0, 260.0, 400.0])


def mowing(**changes) -> Mowing:
    given = {"travel_speed": 1500.0, "reel_speed": 120.0, "height_left": 5.0, "height_right": 5.4,
             "standing_grass": 15.0, "waves": (Wave(0.4, 310.0, 0.7), Wave(0.1, 157.0))}  # fmt: skip
    return Mowing(**{**given, **changes})


def invented_gaps(seed: int = 3) -> np.ndarray:
    """Invented, seeded: a cone, an off-centre shaft and one low blade."""
    noise = np.random.default_rng(seed).normal(0.0, 0.01, (7, 4))
    theta = 2 * math.pi * np.arange(7) / 7
    r = 70.0 + 0.06 * np.cos(theta)[:, None] + 0.1 * (STATIONS / 400.0)[None, :] + noise
    r[4] -= 0.3
    return knife_over(r, STATIONS) - r


def mown_leaf_by_leaf(reel: Reel, gaps: np.ndarray, how: Mowing, x: float, place: float) -> float:
    """Slow loop (brute force): the leaves of one place, as (share, length) bundles, meet blade after blade in time.

    Nothing here is shared with the map: angles, times and places are worked out from the reel's turning, and every
    blade either shortens a share of each bundle or, where its cut would be longer, leaves it.
    """
    bundles = [(1.0, how.standing_grass)]
    turn_time = 2 * math.pi / how.reel_speed
    for turn in range(-6, int(place / (how.travel_speed * turn_time)) + 6):
        for blade in range(reel.blade_count):
            angle = 2 * math.pi * blade / reel.blade_count + x * math.tan(reel.helix_angle) / reel.radius
            time = turn * turn_time + angle / how.reel_speed
            edge = how.travel_speed * time
            height = how.height_left + (how.height_right - how.height_left) * x / reel.length
            if edge > place or math.hypot(height, place - edge) >= how.standing_grass:
                continue  # past the leaf, or so far off that even standing grass does not reach back to the edge
            height += sum(w.amplitude * math.sin(2 * math.pi * edge / w.pitch + w.phase) for w in how.waves)
            gap = float(np.interp(x, STATIONS, gaps[blade]))
            clean, folds = how.leaf_gap.clean, how.leaf_gap.folds
            if clean == folds:
                share = 1.0 if gap <= clean else 0.0
            else:
                share = min(1.0, max(0.0, (folds - gap) / (folds - clean)))
            cut = math.hypot(height, place - edge)
            shorter = []
            for part, length in bundles:
                shorter.append((part * share, min(length, cut)))
                shorter.append((part * (1 - share), length))
            merged: dict[float, float] = {}
            for part, length in shorter:
                if part > 0:
                    merged[length] = merged.get(length, 0.0) + part
            bundles = [(part, length) for length, part in merged.items()]
    return math.sqrt(sum(part * length**2 for part, length in bundles))


def worst_of(reel: Reel, how: Mowing, count: int = 250) -> float:
    """Largest difference of map and slow loop, mm, at places drawn at random."""
    gaps = invented_gaps()
    strip = stubble_map(reel, gaps, STATIONS, how, travelled=120.0, step=4.0)
    rng, worst = np.random.default_rng(1), 0.0
    for _ in range(count):
        i, j = int(rng.integers(len(strip.across))), int(rng.integers(len(strip.along)))
        slow = mown_leaf_by_leaf(reel, gaps, how, float(strip.across[i]), float(strip.along[j]))
        worst = max(worst, abs(float(strip.length[i, j]) - slow))
    return worst


EXACT = {
    "all or none": {"leaf_gap": LeafGap(0.1, 0.1)},
    "all or none, long grass": {"leaf_gap": LeafGap(0.1, 0.1), "standing_grass": 60.0},
    "shares, level": {"leaf_gap": LeafGap(0.02, 0.15), "waves": ()},
    "shares, long grass": {"leaf_gap": LeafGap(0.02, 0.15), "standing_grass": 60.0},
}


@pytest.mark.parametrize("hand", [1, -1])
@pytest.mark.parametrize("kind", EXACT)
def test_small_patch_against_the_slow_loop(hand: int, kind: str) -> None:
    compared(
        "Slow loop, leaf by leaf (own brute force)", f"stubble map, worst of 250 places: {kind}",
        reference=0.0, obtained=worst_of(Reel(7, 140.0, 400.0, hand * math.radians(22.0)), mowing(**EXACT[kind])),
        tolerance=2e-4, note="mm; the map is kept in single precision",
    )  # fmt: skip


def test_reach_by_the_level_height_costs_little_where_the_knife_bobs() -> None:
    """The one place where the map is not the slow loop: short grass, bobbing, and blades that cut a share only."""
    compared(
        "Slow loop, leaf by leaf (own brute force)", "stubble map, worst of 250 places: shares, short grass, bobbing",
        reference=0.0, obtained=worst_of(REEL, mowing(leaf_gap=LeafGap(0.02, 0.15))), tolerance=0.1,
        note="mm; the map tells from the level height how far ahead standing grass is reached",
    )  # fmt: skip


def test_a_true_reel_leaves_the_swept_leaf_model() -> None:
    how = mowing(height_left=4.0, height_right=4.0, waves=())
    strip = stubble_map(REEL, np.zeros((7, 4)), STATIONS, how, travelled=300.0, step=0.25, width=5.0)
    one = stubble(4.0, strip.clip)
    assert float(strip.length.min()) == pytest.approx(4.0, abs=1e-4)
    assert float(strip.length.max()) == pytest.approx(one.longest, abs=0.25)
    assert float(strip.length.max()) <= one.longest + 1e-6
    assert float(strip.length.mean()) == pytest.approx(one.mean, rel=0.01)
    assert strip.standing == STANDING


def test_one_blade_that_never_cuts_doubles_the_clip_once_per_turn() -> None:
    gaps = np.zeros((7, 4))
    gaps[2] = 1.0
    how = mowing(height_left=4.0, height_right=4.0, waves=(), standing_grass=60.0)
    strip = stubble_map(Reel(7, 140.0, 400.0), gaps, STATIONS, how, travelled=7 * 11.2 * 4, step=0.2, width=1.0)
    row = strip.length[0]
    twice = stubble(4.0, 2 * strip.clip)
    assert float(row.max()) == pytest.approx(twice.longest, abs=0.2)
    longer = row > stubble(4.0, strip.clip).longest + 1e-4
    assert float(longer.mean()) == pytest.approx(1 / 7, abs=0.01)


def test_where_no_blade_cuts_the_grass_stands() -> None:
    gaps = np.tile([0.0, 0.0, 1.0, 1.0], (7, 1))
    how = mowing(waves=())
    strip = stubble_map(REEL, gaps, STATIONS, how, travelled=100.0, step=2.0)
    assert np.allclose(strip.length[strip.across > 270.0], 15.0)
    assert float(strip.length[strip.across < 120.0].max()) < 15.0


def test_ribs_lie_along_the_helix() -> None:
    """The crest moves forward across the reel by v tan(beta) / (omega R) per mm."""
    strip = stubble_map(REEL, np.zeros((7, 4)), STATIONS, mowing(waves=(), height_right=5.0), travelled=200.0, step=0.5)
    slope = 1500.0 * math.tan(REEL.helix_angle) / (120.0 * 70.0)
    shift = strip.clip / slope
    rows = round(shift / 0.5)
    assert rows * 0.5 == pytest.approx(shift, rel=0.01)
    assert float(np.abs(strip.length[rows] - strip.length[0]).mean()) < 0.1 * float(np.ptp(strip.length[0]))
    half = strip.length[rows // 2]
    assert float(np.abs(half - strip.length[0]).mean()) > 0.2 * float(np.ptp(strip.length[0]))


def test_left_hand_is_the_right_hand_seen_from_the_other_end() -> None:
    """Mirrored, the pattern is the same one, further on by what the helix leads over the whole length (here 20 mm)."""
    lead, clip_mm = 20.0, 2 * math.pi * 1500.0 / (120.0 * 7)
    helix = math.atan(lead * 2 * math.pi * 70.0 / (400.0 * clip_mm * 7))
    gaps, how = invented_gaps(), mowing(waves=(), height_right=5.0)
    one = stubble_map(Reel(7, 140.0, 400.0, helix), gaps, STATIONS, how, travelled=200.0, step=1.0)
    mirrored = Reel(7, 140.0, 400.0, -helix)
    other = stubble_map(mirrored, gaps[:, ::-1], 400.0 - STATIONS[::-1], how, travelled=200.0, step=1.0)
    assert np.allclose(other.length[::-1, :-20], one.length[:, 20:], atol=1e-3)


def lowest_line(highest: np.ndarray, x: np.ndarray) -> float:
    """Brute force: of very many slopes, the line resting on the points, lowest at the middle."""
    middle = 0.5 * (x[0] + x[-1])
    slopes = np.linspace(-0.01, 0.01, 200_001)
    return float((highest[None, :] - slopes[:, None] * (x - middle)[None, :]).max(axis=1).min())


@pytest.mark.parametrize("seed", range(8))
def test_knife_rests_on_the_reel_as_low_as_a_straight_edge_can(seed: int) -> None:
    rng = np.random.default_rng(seed)
    x = np.sort(rng.uniform(0.0, 500.0, 9))
    r = 63.0 + rng.normal(0.0, 0.1, (5, 9))
    line = knife_over(r, x, 0.02)
    gap = line - r
    assert float(gap.min()) == pytest.approx(0.02, abs=1e-9)
    assert np.polyfit(x, line, 1)[0] == pytest.approx((line[-1] - line[0]) / (x[-1] - x[0]), abs=1e-12), "straight"
    middle = float(np.interp(0.5 * (x[0] + x[-1]), x, line))
    assert middle == pytest.approx(lowest_line(r.max(axis=0) + 0.02, x), abs=1e-4)


def test_knife_that_would_dip_into_the_ground_is_refused() -> None:
    with pytest.raises(Contradiction, match="dip into the ground"):
        mowing(height_left=0.4)


def test_bounce_too_fast_for_the_clip_is_refused() -> None:
    how = mowing(travel_speed=200.0, height_left=12.0, height_right=12.0, waves=(Wave(3.0, 60.0),))
    with pytest.raises(OutOfRange, match="largest rise of the square of the height in one clip"):
        stubble_map(REEL, np.zeros((7, 4)), STATIONS, how, travelled=100.0, step=0.5)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: LeafGap(-0.1, 0.2), "clean"),
        (lambda: LeafGap(0.1, 9.0), "folds"),
        (lambda: Wave(-1.0, 100.0), "amplitude"),
        (lambda: Wave(1.0, 0.1), "pitch"),
        (lambda: Wave(1.0, 100.0, math.inf), "phase"),
        (lambda: mowing(height_left=0.0), "height_left"),
        (lambda: mowing(height_right=600.0), "height_right"),
        (lambda: mowing(standing_grass=5.1), "standing_grass"),
        (lambda: stubble_map(REEL, np.zeros((6, 4)), STATIONS, mowing()), "gap"),
        (lambda: stubble_map(REEL, np.full((7, 4), np.nan), STATIONS, mowing()), "gap"),
        (lambda: stubble_map(REEL, np.zeros((7, 4)), STATIONS[::-1], mowing()), "stations"),
        (lambda: stubble_map(REEL, np.zeros((7, 4)), STATIONS, mowing(), step=0.0), "step"),
        (lambda: stubble_map(REEL, np.zeros((7, 4)), STATIONS, mowing(), width=500.0), "width"),
        (lambda: stubble_map(REEL, np.zeros((7, 4)), STATIONS, mowing(), travelled=0.1), "travelled"),
        (lambda: stubble_map(REEL, np.zeros((7, 4)), STATIONS, mowing(), step=0.05), "places on the map"),
        (lambda: stubble_map(REEL, np.zeros((7, 4)), STATIONS, mowing(travel_speed=0.0)), "travel_speed"),
        (lambda: knife_over(np.zeros((2, 3)), np.array([0.0, 1.0, 2.0])), "radius"),
        (lambda: knife_over(np.full((2, 3), 63.0), np.array([0.0, 1.0])), "radius"),
        (lambda: knife_over(np.full((2, 2), 63.0), np.array([1.0, 1.0])), "x"),
        (lambda: knife_over(np.full((2, 2), 63.0), np.array([0.0, 1.0]), -0.1), "gap"),
    ],
)
def test_refusals_name_the_argument(call, named: str) -> None:
    with pytest.raises(OutOfRange, match=rf"^{named}"):
        call()


def test_gaps_the_wrong_way_round() -> None:
    with pytest.raises(Contradiction, match="clean and folds"):
        LeafGap(0.3, 0.2)
