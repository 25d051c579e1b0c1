"""The rib finder: its density against scipy's, its odds against simulated workshops, its advice against trying it."""

import math

import numpy as np
import pytest
from tests.published.evidence import compared

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.measured import Measured
from sparkout.core.ribs.finder import find_ribs, foretold, next_stretch, settings_within
from sparkout.core.ribs.machine import LandDrive, Machine, OwnSpeed, Setting, Stretch, causes, prior_weights

V, W = 1250.0, 50 * math.pi
MOWN = Setting(Measured(V, 0.03 * V), Measured(W, 0.02 * W))
SLOWER = Setting(Measured(0.6 * V, 0.018 * V), Measured(W, 0.02 * W))
GREENS = Machine(
    11, OwnSpeed(), {"front roller": Measured(63.0, 0.5), "rear roller": Measured(50.0, 0.5)},
    {"reel belt": Measured(0.21, 0.004)},
)  # fmt: skip
LAND = Machine(9, LandDrive(Measured(187.0, 1.0), 6.5, Measured(0.03, 0.02)), {"front roller": Measured(63.0, 0.5)})


def stretch(pitch: float, setting: Setting = MOWN, share: float = 0.015) -> Stretch:
    return Stretch(Measured(pitch, share * pitch), setting)


@pytest.mark.parametrize(
    ("pitch", "kind"),
    [(4.5, "clip"), (50.0, "turn"), (25.0, "opposite"), (198.0, "roller"), (157.0, "roller"), (430.0, "bounce"),
     (238.0, "belt")],
)  # fmt: skip
def test_names_what_makes_ribs_of_its_own_pitch(pitch: float, kind: str) -> None:
    finding = find_ribs(GREENS, [stretch(pitch)])
    assert finding.best.cause.kind == kind
    assert finding.best.interval[0] < finding.best.pitch < finding.best.interval[1]
    assert math.fsum(each.chance for each in finding.weighed) == pytest.approx(1.0)
    assert finding.odds == pytest.approx(finding.weighed[0].chance / finding.weighed[1].chance)
    assert "no proof" in finding.standing


def test_pitch_that_nothing_listed_makes_is_left_to_what_is_not_listed() -> None:
    assert find_ribs(GREENS, [stretch(9.5)]).best.cause.kind.startswith("unlisted")


def test_evidence_is_the_normal_density_of_scipy() -> None:
    """Reference library: the same density through scipy's multivariate normal, whole covariance."""
    from scipy.stats import multivariate_normal

    stretches = [stretch(190.0), stretch(205.0, SLOWER, 0.03), stretch(199.0, SLOWER, 0.01)]
    finding = find_ribs(GREENS, stretches)
    for each in finding.weighed:
        expected = [each.cause.log_pitch(s.setting) for s in stretches]
        own = [(s.pitch.u / s.pitch.value) ** 2 + v for s, (_, v) in zip(stretches, expected, strict=True)]
        covariance = np.diag(own) + each.cause.shared**2
        theirs = multivariate_normal([m for m, _ in expected], covariance).logpdf(
            [math.log(s.pitch.value) for s in stretches]
        )
        assert each.log_evidence == pytest.approx(theirs, rel=1e-9)


def simulated(
    machine: Machine, settings: list[Setting], rng: np.random.Generator, share: float
) -> tuple[str, list[Stretch]]:
    """One workshop drawn from what the finder supposes: a true cause, true speeds and sizes, the ribs as read."""
    found = causes(machine, settings[0].travel_speed.value)
    cause = found[rng.choice(len(found), p=prior_weights(found))]
    common = rng.normal(0.0, cause.shared) if cause.shared else 0.0
    stretches = []
    for setting in settings:
        mean, variance = cause.log_pitch(setting)
        true = mean + common + rng.normal(0.0, math.sqrt(variance)) if variance else mean + common
        pitch = math.exp(true + rng.normal(0.0, share))
        stretches.append(Stretch(Measured(pitch, share * pitch), setting))
    return cause.name, stretches


def drawn(machine: Machine, settings: list[Setting], count: int, seed: int, share: float = 0.02):
    rng = np.random.default_rng(seed)
    cases = []
    while len(cases) < count:
        name, stretches = simulated_within(machine, settings, rng, share)
        if stretches:
            cases.append((name, find_ribs(machine, stretches)))
    return cases


def simulated_within(machine: Machine, settings: list[Setting], rng: np.random.Generator, share: float):
    """As `simulated`; the rare draw of a pitch no ruler measures (below 0.5 mm, above 20 m) is drawn again."""
    try:
        return simulated(machine, settings, rng, share)
    except OutOfRange:
        return "", []


@pytest.mark.parametrize(
    ("machine", "settings", "seed"),
    [(GREENS, [MOWN], 11), (GREENS, [MOWN, SLOWER], 12), (LAND, [Setting(Measured(V, 60.0))], 13)],
)
def test_odds_are_calibrated(machine: Machine, settings: list[Setting], seed: int) -> None:
    """Reliability, by simulating from the prior: of all causes given a chance near p, a share p is the true one.

    Each band's count is held within 4 standard errors of what its chances add up to (binomial, cases independent).
    """
    chances, true = [], []
    cases = drawn(machine, settings, 1200, seed)
    for name, finding in cases:
        for each in finding.weighed:
            chances.append(each.chance)
            true.append(each.cause.name == name)
    p, hit = np.array(chances), np.array(true, dtype=float)
    for low, high in (
        (0.0, 0.02),
        (0.02, 0.1),
        (0.1, 0.3),
        (0.3, 0.5),
        (0.5, 0.7),
        (0.7, 0.9),
        (0.9, 0.98),
        (0.98, 1.01),
    ):
        band = (p >= low) & (p < high)
        if band.sum() < 20:
            continue
        error = 4.0 * math.sqrt(float((p[band] * (1 - p[band])).sum())) + 1e-9
        assert float(hit[band].sum()) == pytest.approx(float(p[band].sum()), abs=error), f"chances {low} to {high}"
    best = np.array([finding.best.chance for _, finding in cases])
    right = np.array([finding.best.cause.name == name for name, finding in cases])
    compared(
        "Simulated from the prior",
        f"likeliest cause is the true one, {len(settings)} stretch(es), {machine.blade_count} blades",
        reference=float(right.mean()), obtained=float(best.mean()),
        tolerance=4 * math.sqrt(float((best * (1 - best)).sum())) / len(best),
        note="1200 cases; share of right answers against the mean chance given to them",
    )  # fmt: skip


def test_odds_that_were_too_bold_would_be_caught() -> None:
    """The reliability test can fail: readings three times as bad as said break it."""
    rng = np.random.default_rng(5)
    chances, right = [], []
    for _ in range(600):
        name, stretches = simulated_within(GREENS, [MOWN], rng, 0.02)
        if not stretches:
            continue
        worse = math.exp(rng.normal(0.0, 0.08))
        made = Stretch(Measured(stretches[0].pitch.value * worse, stretches[0].pitch.u), MOWN)
        finding = find_ribs(GREENS, [made])
        chances.append(finding.best.chance)
        right.append(finding.best.cause.name == name)
    p = np.array(chances)
    assert p.sum() - sum(right) > 4.0 * math.sqrt(float((p * (1 - p)).sum()))


def test_what_a_cause_foretells_is_the_conditional_of_the_joint_normal() -> None:
    """Reference route: condition the whole covariance of three stretches on the first two."""
    stretches = [stretch(190.0), stretch(203.0, SLOWER, 0.03)]
    for cause in causes(GREENS, V):
        settings = [MOWN, SLOWER, MOWN]
        mean = np.array([cause.log_pitch(s)[0] for s in settings])
        own = [cause.log_pitch(s)[1] for s in settings]
        readings = np.array([0.015, 0.03, 0.02]) ** 2
        whole = np.diag(np.array(own) + readings) + cause.shared**2
        gain = whole[2, :2] @ np.linalg.inv(whole[:2, :2])
        read = np.log([s.pitch.value for s in stretches])
        wanted = mean[2] + gain @ (read - mean[:2]), whole[2, 2] - gain @ whole[:2, 2]
        assert foretold(cause, stretches, MOWN, 0.02) == pytest.approx(wanted, rel=1e-6)


CROWDED = Machine(8, OwnSpeed(), {"grooved roller": Measured(33.5, 0.5)}, bounce=Measured(20.0, 3.0))
MARKED = Setting(Measured(2500.0, 75.0), Measured(150.0, 3.0))


def test_advice_is_what_trying_it_brings() -> None:
    """Brute force: take a true cause by its chance, measure the next stretch, choose again; count and average."""
    finding = find_ribs(CROWDED, [stretch(106.0, MARKED, 0.02)])
    options = settings_within(finding, (2200.0, 2900.0), (120.0, 160.0))
    advice = next_stretch(finding, options)
    assert len(advice) == 12
    worth = advice[len(advice) // 2]
    rng = np.random.default_rng(8)
    chance = np.array([each.chance for each in finding.weighed])
    foreseen = [foretold(each.cause, finding.stretches, worth.setting, 0.02) for each in finding.weighed]
    mean, spread = np.array([m for m, _ in foreseen]), np.sqrt([v for _, v in foreseen])
    count = 60_000
    true = rng.choice(len(chance), size=count, p=chance)
    read = rng.normal(mean[true], spread[true])
    logs = np.log(np.maximum(chance, 1e-300)) - 0.5 * ((read[:, None] - mean) / spread) ** 2 - np.log(spread)
    after = np.exp(logs - logs.max(axis=1, keepdims=True))
    after /= after.sum(axis=1, keepdims=True)
    now = -float((chance * np.log2(np.maximum(chance, 1e-300))).sum())
    entropies = -(after * np.log2(np.maximum(after, 1e-300))).sum(axis=1)
    compared(
        "Trying the next stretch (simulation)", "expected information of one more stretch, bits",
        reference=now - float(entropies.mean()), obtained=worth.information,
        tolerance=4 * float(entropies.std()) / math.sqrt(count), note="60,000 stretches drawn",
    )  # fmt: skip
    pair = true < 2
    right = (after[pair, 0] >= after[pair, 1]) == (true[pair] == 0)
    compared(
        "Trying the next stretch (simulation)", "chance of naming the right one of the best two",
        reference=float(right.mean()), obtained=worth.tells_apart,
        tolerance=4 * math.sqrt(0.25 / int(pair.sum())), note="60,000 stretches drawn",
    )  # fmt: skip


def test_advice_finds_the_speed_that_parts_the_pitches_and_then_the_odds_follow() -> None:
    finding = find_ribs(CROWDED, [stretch(105.5, MARKED, 0.02)])
    assert {each.cause.kind for each in finding.weighed[:2]} == {"roller", "turn"}
    best = next_stretch(finding, settings_within(finding, (1200.0, 3000.0)))[0]
    assert best.tells_apart > 0.999 > best.before
    share = best.setting.travel_speed.value / 2500.0
    roller = find_ribs(CROWDED, [*finding.stretches, stretch(105.5, best.setting, 0.02)])
    turning = find_ribs(CROWDED, [*finding.stretches, stretch(105.5 * share, best.setting, 0.02)])
    assert (roller.best.cause.kind, turning.best.cause.kind) == ("roller", "turn")
    assert max(roller.best.chance, turning.best.chance) > 0.8


def test_two_rollers_of_one_size_are_never_told_apart_by_mowing() -> None:
    twins = Machine(11, OwnSpeed(), {"front": Measured(63.0, 0.3), "rear": Measured(63.0, 0.3)})
    finding = find_ribs(twins, [stretch(198.0)])
    assert finding.odds == pytest.approx(1.0)
    for advice in next_stretch(finding, settings_within(finding, (800.0, 1600.0))):
        assert advice.tells_apart == pytest.approx(advice.before, abs=1e-9)
        assert advice.first_pitch == pytest.approx(advice.second_pitch)


def test_causes_of_different_spread_are_parted_on_both_sides() -> None:
    """A narrow pitch inside a broad one: the narrow is chosen between two cuts, the broad outside either."""
    machine = Machine(11, OwnSpeed(), bounce=Measured(25.0, 12.0))
    finding = find_ribs(machine, [stretch(50.0)], {"turn": 1.0, "bounce": 4.0})
    slower = next_stretch(finding, [SLOWER], 0.02)[0]
    assert slower.before <= slower.tells_apart < 1.0


def test_no_second_chance_when_one_cause_has_it_all() -> None:
    """Ribs of half a millimetre: every other listed cause is so far off that its chance is nothing."""
    sure = Machine(40, OwnSpeed(), {"front": Measured(500.0, 0.001)}, bounce=None)
    setting = Setting(Measured(V, 1e-6 * V), Measured(W, 1e-6 * W))
    finding = find_ribs(sure, [stretch(V / (W / (2 * math.pi)) / 40, setting, 1e-6)])
    assert finding.best.cause.kind == "clip"
    assert finding.best.chance > 0.9999
    assert next_stretch(finding, [SLOWER])[0].tells_apart > 0.9999


def test_weights_of_the_workshop_count() -> None:
    even = find_ribs(GREENS, [stretch(49.0)])
    own = find_ribs(GREENS, [stretch(49.0)], {"bounce": 1.0})
    assert even.best.cause.kind == "turn"
    turn = next(each for each in own.weighed if each.cause.kind == "turn")
    assert turn.chance == 0.0


def test_odds_are_infinite_when_nothing_else_has_a_chance() -> None:
    finding = find_ribs(GREENS, [stretch(49.0)])
    from dataclasses import replace

    alone = replace(finding, weighed=(finding.weighed[0], replace(finding.weighed[1], chance=0.0)))
    assert alone.odds == math.inf
    assert next_stretch(alone, [SLOWER])[0].tells_apart == 1.0


def test_land_drive_is_asked_for_travel_alone() -> None:
    finding = find_ribs(LAND, [Stretch(Measured(11.0, 0.3), Setting(Measured(V, 60.0)))])
    settings = settings_within(finding, (800.0, 2000.0), (100.0, 200.0))
    assert [s.reel_speed for s in settings] == [None] * 3
    assert settings[0].travel_speed.u / settings[0].travel_speed.value == pytest.approx(60.0 / V)


def test_refusals() -> None:
    with pytest.raises(NotEnough, match="one stretch at least"):
        find_ribs(GREENS, [])
    finding = find_ribs(GREENS, [stretch(49.0)])
    with pytest.raises(NotEnough, match="at least one setting"):
        next_stretch(finding, [])
    with pytest.raises(OutOfRange, match="pitch_share"):
        next_stretch(finding, [SLOWER], 0.9)
    with pytest.raises(OutOfRange, match="slowest travel"):
        settings_within(finding, (0.0, 100.0))
    with pytest.raises(OutOfRange, match="fastest reel"):
        settings_within(finding, (100.0, 200.0), (150.0, 150.0))
