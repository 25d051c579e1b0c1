"""What makes edges last: told from edges whose making is known, other things being equal, and never from too few."""

import numpy as np
import pytest

from sparkout.season.edges import Edge, edges_told, life_of
from sparkout.season.forecast import UnitNow
from sparkout.season.on_file import Sharpening, edges_between
from sparkout.season.unit_file import units_of


def invented(
    seed: int, units: int = 20, each: int = 12, relief: float = 1.0, contact: float = 1.0, sand: float = 1.0
) -> list[UnitNow]:
    """Units whose edges last so many times as long with relief, with contact, and for each sanding in 100 h."""
    rng = np.random.default_rng(seed)
    made = []
    for number in range(units):
        sandings = int(rng.integers(0, 20))
        edges = []
        for _ in range(each):
            has_relief, is_contact = bool(rng.random() < 0.5), bool(rng.random() < 0.3)
            eta = 100.0 * relief**has_relief * contact**is_contact * sand ** (100.0 * sandings / 1000.0)
            life, seen = eta * rng.weibull(2.5), rng.uniform(60.0, 200.0)
            gap = "contact" if is_contact else "light gap"
            edges.append(Edge(min(life, seen), bool(life <= seen), has_relief, gap, str(rng.choice(["A", "B", "C"]))))
        duty = "greens reel" if number % 2 else "fairway reel"
        made.append(UnitNow(f"U{number}", duty=duty, hours=1000.0, edges=tuple(edges), sandings=sandings))
    return made


def test_each_thing_is_found_as_it_was_put_in() -> None:
    """True ratios lie in the intervals of 95 % as often as they should: of 40 fleets, three things each."""
    true = {"spin and relief against spin only": 1.4, "set to contact against a light gap": 0.7, "each sanding": 0.9}
    inside = 0
    for seed in range(40):
        found = edges_told(invented(seed, relief=1.4, contact=0.7, sand=0.9))
        assert found is not None
        for one in found.effects:
            ratio = next((ratio for about, ratio in true.items() if one.about.startswith(about)), None)
            inside += ratio is not None and one.ratio.low <= ratio <= one.ratio.high
    assert 108 <= inside <= 120  # binomial: 114 of 120 wanted, three standard deviations about it


def test_other_things_are_taken_into_account() -> None:
    """Technician A makes every relief edge but a few: what relief does is not put to A's account."""
    rng = np.random.default_rng(3)
    edges = []
    for number in range(200):
        relief = number % 2 == 0
        who = "A" if relief == (rng.random() < 0.8) else "B"
        edges.append(Edge(float((150.0 if relief else 75.0) * rng.weibull(3.0)), True, relief, "light gap", who))
    found = edges_told([UnitNow("U", duty="greens reel", hours=1000.0, edges=tuple(edges))])
    assert found is not None
    by = {str(one.about): one for one in found.effects}
    relief_told, who_told = by["spin and relief against spin only"], by["A against all others"]
    assert relief_told.ratio.told_apart
    assert not who_told.ratio.told_apart
    assert who_told.beside == ("relief",)
    alone = edges_told([UnitNow("U", hours=1000.0, edges=tuple(Edge(e.hours, e.went, who=e.who) for e in edges))])
    assert alone is not None
    assert alone.effects[0].ratio.told_apart  # what a comparison without the rest would have said


def test_copies_tell_nothing_beside_each_other() -> None:
    edges = tuple(Edge(h, True, i % 2 == 0, who="AB"[i % 2]) for i, h in enumerate(np.linspace(20.0, 120.0, 30)))
    found = edges_told([UnitNow("U", hours=1000.0, edges=edges)])
    assert found is not None
    assert {one.beside for one in found.effects} == {()}


def test_too_few_are_named() -> None:
    edges = tuple(Edge(h, True, relief=h > 100.0) for h in (60.0, 70.0, 80.0, 90.0, 120.0))
    found = edges_told([UnitNow("U", edges=edges)])
    assert found is not None
    assert found.effects == ()
    assert [str(why) for why in found.untold] == [
        "spin and relief against spin only: 2 more edges that went are wanted",
        "set to contact against a light gap: 3 more edges that went are wanted",
        "each sanding in 100 hours: the units' own counts on file do not differ, or too few edges went",
    ]
    assert edges_told([UnitNow("U", edges=edges[:4])]) is None


def test_a_life_that_does_not_settle_is_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    from sparkout.core.errors import NotEnough
    from sparkout.season import edges as module

    def unsettled(*_: object) -> None:
        raise NotEnough("edge life", "lives that settle it")

    edges = tuple(Edge(h, True, relief=h > 75.0) for h in (60.0, 65.0, 70.0, 80.0, 90.0, 120.0))
    units = [UnitNow("U", edges=edges)]
    told = module.edge_life
    monkeypatch.setattr(
        module, "edge_life", lambda h, w, x, names: told(h, w, x, names) if len(names) == 1 else unsettled()
    )
    found = edges_told(units)
    assert found is not None
    assert "lives that settle it" in found.untold[0]
    monkeypatch.setattr(module, "edge_life", unsettled)
    assert edges_told(units) is None


def test_the_edge_in_use_counts_as_not_gone_yet() -> None:
    done = [Sharpening(0.0, False, True, "contact", "A"), Sharpening(90.0, True, False, "light gap", "B")]
    gone, running = edges_between(done, 130.0)
    assert gone == Edge(90.0, True, True, "contact", "A")
    assert running == Edge(40.0, False, False, "light gap", "B")
    assert edges_between(done, 90.0) == (gone,)
    (unit,) = units_of({"units": [{"name": "A", "hours": "300 h", "sharpened": "240 h", "edges": [{"hours": "96 h"}]}]})
    assert [(edge.hours, edge.went) for edge in unit.edges] == [(96.0, False), (60.0, False)]
    lives = [Edge(h, True) for h in (60.0, 70.0, 80.0, 90.0, 100.0)]
    with_it, without = life_of([*lives, Edge(200.0, False)]), life_of(lives)
    assert with_it is not None
    assert without is not None
    assert with_it.life([1.0]) > without.life([1.0])
