"""Cautions: every step has some, every one is short, sourced and defers; the figures and their refusals."""

import math
import re

import pytest

from sparkout.core.cautions import (
    LOCAL_RULES,
    STEPS,
    all_cautions,
    cautions_for,
    guard_figure,
    guard_figures,
    guard_procedures,
)
from sparkout.core.errors import OutOfRange, Refusal


@pytest.mark.parametrize("step", STEPS)
def test_every_step_has_cautions_and_ends_with_the_general_one(step: str) -> None:
    found = cautions_for(step)
    assert len(found) >= 3
    assert found[-1].id == "advice"
    assert all(step in caution.steps for caution in found)


@pytest.mark.parametrize("caution", all_cautions(), ids=lambda caution: caution.id)
def test_every_caution_is_short_sourced_and_defers(caution) -> None:
    assert 3 <= len(caution.short.split()) <= 25
    assert caution.origin
    assert set(caution.steps) <= set(STEPS)
    assert re.search(r"handbook|[Ll]ocal rules|[Ll]icensed practice", caution.long)
    assert "\n" not in caution.long


def test_ids_are_unique() -> None:
    ids = [caution.id for caution in all_cautions()]
    ids += [figure.id for figure in guard_figures()] + [procedure.id for procedure in guard_procedures()]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize(
    ("step", "needed"),
    [
        ("spin grind", {"wheel-speed", "guards", "eyes", "dust", "noise", "sparks", "reel-turns", "blueing"}),
        ("relief grind", {"wheel-speed", "guards", "relief-finger"}),
        ("knife grind", {"wheel-speed", "burr-by-hand"}),
        ("wheel mounting", {"wheel-mount", "wheel-speed", "run-up", "grinder-isolate"}),
        ("prove", {"isolate", "blades", "no-hand-in-nip"}),
        ("set", {"isolate", "blades", "set-light"}),
        ("measure reel", {"isolate", "blades"}),
        ("lifting", {"lift-together", "support", "blades"}),
        ("deburr", {"burr-by-hand", "eyes", "blades"}),
    ],
)
def test_the_dangers_of_a_step_stand_beside_it(step: str, needed: set[str]) -> None:
    assert needed <= {caution.id for caution in cautions_for(step)}


def test_unknown_step_is_refused_with_the_nearest() -> None:
    with pytest.raises(Refusal, match="did you mean 'spin grind'"):
        cautions_for("spin-grind")
    with pytest.raises(Refusal, match="allowed: take in"):
        cautions_for("qqq")


def test_figures_say_whose_law_they_are() -> None:
    for figure in guard_figures():
        assert figure.standing == LOCAL_RULES
        assert figure.seen
        assert figure.paragraph.startswith("29 CFR 1910.215")
    for procedure in guard_procedures():
        assert procedure.standing == LOCAL_RULES
        assert procedure.seen


def test_figures_hold_at_the_limit_and_not_beyond() -> None:
    assert guard_figure("work-rest").holds(25.4 / 8)
    assert not guard_figure("work-rest").holds(3.2)
    assert guard_figure("surface-start").holds(math.radians(15.0))
    assert not guard_figure("surface-start").holds(math.radians(14.9))
    assert guard_figure("flange").holds(1 / 3)
    assert not guard_figure("flange").holds(0.33)
    with pytest.raises(OutOfRange, match="work-rest"):
        guard_figure("work-rest").holds(math.nan)


def test_unknown_figure_is_refused() -> None:
    with pytest.raises(Refusal, match="allowed: work-rest, tongue"):
        guard_figure("hood")
