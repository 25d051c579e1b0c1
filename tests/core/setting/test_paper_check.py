"""The next check: its separation against numerical integration, and the check an open question calls for."""

import math

import numpy as np
import pytest

from sparkout.core.reel.geometry import Reel
from sparkout.core.setting.paper_causes import Cause
from sparkout.core.setting.paper_check import Weighed, next_check, place_name
from sparkout.core.setting.paper_grid import paper_grid
from sparkout.core.setting.paper_model import PaperModel, outcome_probabilities

REEL = Reel(3, 127.0, 533.0)
AT = [13.0, 266.5, 520.0]
MODEL = PaperModel()


def weighed(key: str, opening, least: float, reel_shape=None, blunt: float | None = None) -> Weighed:
    """An explanation of one node, so that what it predicts is exactly known."""
    shape = np.broadcast_to(np.asarray(opening, dtype=float), (1, 3, 3)).copy()
    heights = np.zeros((1, 3, 3)) if reel_shape is None else np.asarray(reel_shape, dtype=float)[None]
    one = np.ones(1)
    dull = None if blunt is None else np.array([blunt])
    cause = Cause(key, key, 1.0, shape, np.array([least]), one, heights, blunt=dull)
    p = outcome_probabilities(shape + least, 0.1, MODEL)
    if blunt is not None:
        p = np.broadcast_to(np.array([(1 - blunt) * 2 / 3, (1 - blunt) / 3, blunt]), p.shape)
    return Weighed(cause, one, p)


def grid(rows: list[str]):
    return paper_grid(rows, AT, REEL, thickness=0.1, square=True)


def integrated(mean: float, other: float, u: float) -> float:
    """Numerical: 1 - integral of sqrt(p q) of two normal distributions."""
    x = np.linspace(min(mean, other) - 10 * u, max(mean, other) + 10 * u, 200_001)
    p, q = (np.exp(-0.5 * ((x - m) / u) ** 2) / (u * math.sqrt(2 * math.pi)) for m in (mean, other))
    return 1.0 - float(np.sum(np.sqrt(p * q)) * (x[1] - x[0]))


def test_dial_separation_is_the_integral() -> None:
    low = np.zeros((3, 3))
    low[1] = -0.018
    first = weighed("low blade 2", -low, 0.03, reel_shape=low)
    check = next_check(first, weighed("sound", np.zeros((3, 3)), 0.03), grid(["ccc", "ccc", "ccc"]), MODEL, 0.1)
    assert check.kind == "dial"
    assert check.blade == 1
    assert check.words == "dial on blade 2 at the middle against the other blades there"
    assert check.separation == pytest.approx(integrated(-0.018 * 2 / 3, 0.0, 0.007), abs=1e-6)


def test_feeler_separation_is_the_integral() -> None:
    """Openings that a strip of paper cannot tell apart but a feeler can."""
    first, second = weighed("too open", np.zeros((3, 3)), 0.20), weighed("too open", np.zeros((3, 3)), 0.25)
    check = next_check(first, second, grid(["uuu"] * 3), MODEL, 0.1)
    assert check.kind == "feeler"
    assert check.separation == pytest.approx(integrated(0.20, 0.25, 0.015), abs=1e-6)


def test_feeler_from_end_to_end_is_called_for_by_a_knife_out_of_parallel() -> None:
    slope = 0.1 * np.array([1.0, 0.5, 0.0]) * np.ones((3, 1))
    check = next_check(weighed("left open", slope, 0.1), weighed("even", 0.0, 0.15), grid(["uuu"] * 3), MODEL, 0.1)
    assert check.kind == "feeler difference"
    assert check.words == "feeler gauge at the left end against the right end"
    assert check.station is None


def test_feeler_in_the_middle_is_called_for_by_a_bowed_knife() -> None:
    bow = 0.1 * np.array([0.0, 1.0, 0.0]) * np.ones((3, 1))
    check = next_check(weighed("middle open", bow, 0.1), weighed("even", 0.035, 0.1), grid(["uuu"] * 3), MODEL, 0.1)
    assert check.kind in ("feeler", "feeler difference")
    assert "the middle" in check.words


def test_a_glass_on_the_edge_is_called_for_by_a_blunt_edge_at_the_same_gap() -> None:
    first, second = weighed("blunt", 0.0, 0.03, blunt=0.05), weighed("sound", 0.0, 0.03)
    check = next_check(first, second, grid(["ccc"] * 3), MODEL, 0.1)
    assert check.kind == "edge"
    assert check.blade is None
    assert "isolated" in check.words
    assert check.separation == pytest.approx(1.0 - 2.0 * math.sqrt(0.9 * 0.1))


def test_closing_is_not_offered_while_too_tight_is_in_question() -> None:
    first = weighed("blunt", 0.0, 0.05, blunt=0.99)
    for key, kind in (("sound", "paper after closing"), ("too tight", "edge")):
        assert next_check(first, weighed(key, 0.0, 0.05), grid(["uuu"] * 3), MODEL, 0.1).kind == kind


def test_closing_is_put_in_words() -> None:
    first, second = weighed("blunt", 0.0, 0.05, blunt=0.99), weighed("sound", 0.0, 0.05)
    check = next_check(first, second, grid(["uuu"] * 3), MODEL, 0.1)
    assert check.kind == "paper after closing"
    assert check.words.startswith(
        "close both ends alike by a click or two and try paper again on blade 1 at the middle"
    )


def test_place_names() -> None:
    assert place_name(0.9, 500.0) == "the right end"
    assert place_name(-0.4, 159.9) == "160 mm from the left end"
