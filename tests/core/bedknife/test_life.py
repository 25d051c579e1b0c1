import math

import pytest

from sparkout.core.bedknife.edge import edge_shift, knife_edge_stock
from sparkout.core.bedknife.life import KnifeFindings, angle_stock, knife_plan, standing_angles
from sparkout.core.bedknife.section import KnifeSection
from sparkout.core.errors import BelowServiceLimit, OutOfRange

TOP, FRONT = math.radians(12), math.radians(5)
SECTION = KnifeSection(TOP, FRONT, 4.0, 6.0)


def plan(findings=None, section=SECTION, **change):
    wanted = {"least_lip_height": 2.0, "least_front_lip_depth": 3.0, "infeed": 0.02, "allowance": 0.0} | change
    return knife_plan(section, findings or KnifeFindings(edge_radius=0.1), **wanted)


def test_nothing_found_asks_for_nothing():
    none = plan(KnifeFindings(), allowance=0.02)
    assert none.face is None
    assert none.causes == ()
    assert (none.top_stock, none.front_stock, none.top_passes, none.front_passes) == (0.0, 0.0, 0, 0)
    assert none.lip_height_after.value == 4.0
    assert none.grinds_left is None


@pytest.mark.parametrize("face", ["top", "front", "both"])
def test_rounding_takes_the_edge_stock_of_that_way(face):
    done = plan(face=face)
    stock = knife_edge_stock(0.1, TOP, FRONT, face).stock
    assert done.causes == ("rounding",)
    assert done.top_stock == pytest.approx(stock if face != "front" else 0.0)
    assert done.front_stock == pytest.approx(stock if face != "top" else 0.0)
    moved = edge_shift(done.top_stock, done.front_stock, TOP, FRONT)
    assert done.lip_height_after.value == pytest.approx(4.0 - moved.down)
    assert done.front_lip_depth_after.value == pytest.approx(6.0 - moved.back)
    assert (done.edge_back, done.edge_down) == pytest.approx((moved.back, moved.down))


def test_the_way_that_spends_least_life_is_chosen():
    done = plan()
    assert done.face == min(done.options, key=lambda o: o.life_used).face
    tall = plan(section=KnifeSection(TOP, FRONT, 30.0, 3.4))  # plenty of lip height, hardly any depth
    deep = plan(
        section=KnifeSection(TOP, FRONT, 2.2 + 20 * math.tan(TOP), 20.0), least_lip_height=2.1 + 20 * math.tan(TOP)
    )
    assert tall.face == "top"
    assert deep.face == "front"


def test_allowance_goes_on_each_ground_face_only():
    top_only = plan(face="top", allowance=0.05)
    assert top_only.top_stock == pytest.approx(knife_edge_stock(0.1, TOP, FRONT, "top").stock + 0.05)
    assert top_only.front_stock == 0.0
    bowed = plan(KnifeFindings(edge_radius=0.1, front_bow=0.03), face="top", allowance=0.05)
    assert bowed.front_stock == pytest.approx(0.08)


def test_wear_land_must_come_off_the_top_even_when_the_front_is_ground():
    worn = KnifeFindings(wear_land=0.5)
    done = plan(worn, face="front")
    assert done.causes == ("wear land",)
    assert done.top_stock == pytest.approx(0.5 * math.sin(TOP))


def test_a_nick_comes_out_from_either_face():
    nick = KnifeFindings(nick_depth=0.2)
    assert plan(nick, face="top").top_stock == pytest.approx(0.2)
    assert plan(nick, face="front").front_stock == pytest.approx(0.2)
    through_bow = plan(KnifeFindings(nick_depth=0.2, top_bow=0.25), face="front")
    assert (through_bow.top_stock, through_bow.front_stock) == (0.25, 0.0)


def test_too_steep_costs_the_edge_and_too_flat_the_far_side():
    """Brute force: a face of width w turned by the difference about one of its ends."""
    width, turn = 6.0, math.radians(2)
    drop = abs((complex(width, 0) * complex(math.cos(turn), math.sin(turn))).imag)
    assert angle_stock(TOP + turn, TOP, width) == pytest.approx((drop, 0.0))
    assert angle_stock(TOP - turn, TOP, width) == pytest.approx((0.0, drop))
    steep = plan(KnifeFindings(top_angle_now=TOP + turn), face="top")
    flat = plan(KnifeFindings(top_angle_now=TOP - turn), face="top", allowance=0.01)
    assert steep.causes == ("top angle",)
    assert steep.top_stock == pytest.approx(drop)
    assert flat.top_stock == pytest.approx(0.01)
    assert flat.top_passes == math.ceil((drop + 0.01) / 0.02)
    assert plan(KnifeFindings(front_angle_now=FRONT + turn), face="front").front_stock == pytest.approx(
        4.0 * math.sin(turn)
    )


def test_grinds_left_by_doing_them_one_after_another():
    """Brute force: repeat the same grind on what is left until the least figures forbid it."""
    done = plan()
    lip, depth, count = done.lip_height_after.value, done.front_lip_depth_after.value, 0
    while lip - done.edge_down >= 2.0 - 1e-9 and depth - done.edge_back >= 3.0 - 1e-9:
        lip, depth, count = lip - done.edge_down, depth - done.edge_back, count + 1
    assert done.grinds_left == count
    assert done.limited_by in ("lip height", "front-lip depth")


def test_without_least_figures_nothing_is_counted():
    done = plan(least_lip_height=None, least_front_lip_depth=None)
    assert done.grinds_left is None
    assert done.limited_by is None
    only_lip = plan(least_front_lip_depth=None, face="top")
    assert only_lip.limited_by == "lip height"


def test_a_way_that_spends_the_lip_is_refused_naming_the_way_that_does_not():
    low = KnifeSection(TOP, FRONT, 2.05, 6.0)
    with pytest.raises(BelowServiceLimit, match="Instead: grind front"):
        plan(section=low, face="top")
    assert plan(section=low).face == "front"


@pytest.mark.parametrize("least", [2.0, 2.05])
def test_a_knife_with_no_way_left_is_replaced(least):
    spent = KnifeSection(TOP, FRONT, 2.05, 3.01)
    with pytest.raises(BelowServiceLimit, match="fit a new knife"):
        plan(section=spent, least_lip_height=least)


def test_a_lip_already_at_its_least_has_no_room_for_that_face():
    at_least = KnifeSection(TOP, FRONT, 2.0, 6.0)
    with pytest.raises(BelowServiceLimit, match="fit a new knife"):
        plan(section=at_least, face="top")
    assert all(
        option.life_used == math.inf
        for option in knife_plan(
            at_least, KnifeFindings(), least_lip_height=2.0, least_front_lip_depth=3.0, infeed=0.02
        ).options
    )


def test_what_the_top_gains_the_front_loses_in_the_unit():
    standing = plan(approach_angle=math.radians(6), seat_tilt=math.radians(-1)).standing
    assert math.degrees(standing.top) == pytest.approx(17.0)
    assert math.degrees(standing.front) == pytest.approx(0.0)
    assert standing.top + standing.front == pytest.approx(TOP + FRONT)
    assert plan().standing is None
    with pytest.raises(OutOfRange, match="seat_tilt"):
        standing_angles(0.2, 0.1, 3.0, 0.1)


def test_the_burr_is_not_forgotten():
    assert "deburr" in plan().cautions


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: KnifeFindings(edge_radius=-0.1), "edge_radius"),
        (lambda: KnifeFindings(wear_land=99.0), "wear_land"),
        (lambda: KnifeFindings(top_angle_now=12.0), "top_angle_now"),
        (lambda: plan(infeed=0.0), "infeed"),
        (lambda: plan(allowance=-1.0), "allowance"),
        (lambda: plan(least_lip_height=-1.0), "least_lip_height"),
        (lambda: plan(face="rear"), "face"),
        (lambda: plan(lip_height_u=-1.0), "u"),
    ],
)
def test_bad_values_are_named(call, named):
    with pytest.raises(OutOfRange, match=named):
        call()


def test_a_level_top_lets_the_front_be_ground_with_no_lip_to_spare():
    level = KnifeSection(0.0, FRONT, 2.0, 6.0)
    done = plan(section=level)
    assert done.face == "front"
    assert done.lip_height_after.value == 2.0
