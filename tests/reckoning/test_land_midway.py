"""The land the wheel met on average: between before and after the spin grind, whatever the relief grind left."""

import math

import pytest

from sparkout.demonstration.listing import demonstration_files
from sparkout.reckoning.answer import Untold
from sparkout.reckoning.as_left import land_midway
from sparkout.reckoning.given import Given
from sparkout.reckoning.reckon import reckon
from sparkout.visit.reading import read_visit


def test_a_relief_grind_after_does_not_shrink_what_the_spin_grind_met():
    answer = reckon(read_visit(demonstration_files()["coned-as-left"]))
    given = Given(answer.visit)
    before = [place.before.value for place in answer.spin.plan.land]
    after = [place.after.value for place in answer.spin.plan.land]
    midway = land_midway(given, answer.reel, answer.spin)
    assert sum(before) / 3 < midway < sum(after) / 3
    removed = float((answer.diagnosis.heights - answer.as_left.diagnosis.heights).mean())
    edge = answer.reel.blade_count * answer.reel.length / math.cos(answer.reel.helix_angle)
    assert answer.as_left.learned.volume.value == pytest.approx(removed * midway * edge, rel=0.05)


def test_without_a_plan_the_land_as_found_stands():
    visit = read_visit(demonstration_files()["coned"])
    given = Given(visit)
    assert land_midway(given, given.reel(), Untold("x", "y")) == pytest.approx((1.30 + 1.35 + 1.45) / 3)
