"""The data file and a workshop's own over it: what is asked of it, and every way it can be wrong, with the line."""

import tomllib
from importlib.resources import files

import pytest

from sparkout.catalogue.listing import CATALOGUE
from sparkout.core.cautions import STEPS
from sparkout.core.faults.reading import TableProblems, overlaid_tables, usual_tables

TABLES = usual_tables()
OPENING = {"blades"}
"""Cautions that must stand beside whatever brings a hand near the edges."""


def test_enough_of_everything_and_an_origin_in_every_row() -> None:
    assert len(TABLES.seen) >= 25
    assert len(TABLES.causes) >= 40
    for row in (*TABLES.setups, *TABLES.findings, *TABLES.checks, *TABLES.causes):
        assert row.origin
    assert "no source" in TABLES.origin_of_numbers


def test_every_remedy_and_check_points_to_a_sum_or_a_step_that_exists() -> None:
    for row in (*TABLES.checks, *TABLES.causes):
        assert row.sum == "" or row.sum in STEPS or row.sum in CATALOGUE, row.id


def test_every_cause_can_be_told_from_every_other() -> None:
    shows = {cause.id: frozenset(cause.shows) for cause in TABLES.causes}
    assert len(set(shows.values())) == len(shows)


def test_cautions_stand_beside_what_can_hurt() -> None:
    for check in TABLES.checks:
        if "raise" in check.setups or "bench" in check.setups:
            assert "isolate" in check.setups, check.id
        if "isolate" in check.setups:
            assert check.cautions, check.id
    for name in ("paper", "turn-by-bar", "lamp-on-edge", "look-at-blades", "lever"):
        assert set(TABLES.check(name).cautions) >= OPENING
    assert "no-hand-in-nip" in TABLES.check("paper").cautions


def test_texts_hold_no_braces_and_the_file_has_only_known_parts() -> None:
    raw = tomllib.loads(files("sparkout.core").joinpath("data", "faults.toml").read_text(encoding="utf-8"))
    assert {"setup", "finding", "check", "cause"} < set(raw)


def test_rows_are_changed_added_and_taken_away() -> None:
    own = overlaid_tables(
        """
minutes_to_look = 0.5
how_many = [0.1, 0.9]

[[cause]]
id = "cone"
weight = 9
[cause.shows]
cone-over = 0.8
slopes-across = 0

[[cause]]
id = "barrel"
off = true

[[finding]]
id = "dog-on-green"
says = "A dog runs after the machine"
seen = true
without = 0.01
origin = "ours"

[[cause]]
id = "dog"
says = "A dog"
weight = 1
remedy = "Leash"
origin = "ours"
shows = { dog-on-green = 0.9 }
""",
        "ours.toml",
    )
    cone = own.cause("cone")
    assert (cone.weight, dict(cone.shows)["cone-over"]) == (9.0, 0.8)
    assert "slopes-across" not in dict(cone.shows)
    assert dict(cone.shows)["torn-one-end"] == dict(TABLES.cause("cone").shows)["torn-one-end"]
    assert "barrel" not in {cause.id for cause in own.causes}
    assert own.finding("dog-on-green").seen
    assert own.check("look-dog-on-green").minutes == 0.5
    assert own.how_many == (0.1, 0.9)
    assert "barrel" in {cause.id for cause in usual_tables().causes}, "the usual tables stay as they are"


GOOD = '[[cause]]\nid = "cone"\n'


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[[cause]\n", "ours.toml line 1: not TOML"),
        ("[[cuase]]\n", "ours.toml line 1: cuase is not a part of the tables; did you mean cause"),
        ("\n\ncause = 3\n", "ours.toml line 3: cause is not a part of the tables"),
        ('[[cause]]\nid = "Cone"\n', "ours.toml line 2: a cause needs an id"),
        ("[[cause]]\nweight = 2\n", "ours.toml line 1: a cause needs an id"),
        (GOOD + "wieght = 2\n", "ours.toml line 3: wieght is not a key of a cause; did you mean weight"),
        (GOOD + "weight = 0\n", "ours.toml line 3: weight is 0; allowed: above 0 up to"),
        (GOOD + "weight = true\n", "ours.toml line 3: weight is True"),
        (GOOD + "weight = nan\n", "ours.toml line 3: weight is nan"),
        (GOOD + 'weight = "much"\n', "ours.toml line 3: weight is much"),
        (GOOD + "says = 3\n", "ours.toml line 3: says must be a text"),
        (GOOD + 'says = " "\n', "ours.toml line 3: says must be a text"),
        (GOOD + 'remedy = "{x}"\n', "ours.toml line 3: remedy must not hold braces"),
        (GOOD + "[cause.shows]\nclack = 0.5\ncome-over = 0.5\n", "ours.toml line 5: shows: come-over is not known"),
        (GOOD + "[cause.shows]\nclack = 1.0\n", "ours.toml line 4: clack is 1.0; allowed: 0 to 0.99"),
        (GOOD + "shows = 3\n", "ours.toml line 3: shows must be a table"),
        ('[[cause]]\nid = "new"\n', "ours.toml line 1: remedy is missing in cause new"),
        ('[[cause]]\nid = "new"\noff = true\n', "ours.toml line 1: new cannot be taken away"),
        ('[[check]]\nid = "lever"\nsetups = ["risen"]\n', "line 3: setups: risen is not known; did you mean raise"),
        ('[[check]]\nid = "lever"\nsetups = "raise"\n', "line 3: setups must be a list of names"),
        ('[[check]]\nid = "lever"\ncautions = ["balde"]\n', "line 3: cautions: balde is not known"),
        ('[[check]]\nid = "lever"\nfindings = []\n', "line 3: a check answers 1 to 6 findings"),
        ('[[check]]\nid = "lever"\nfindings = ["rocks", "grates"]\n', "finding grates is answered by check"),
        ('[[check]]\nid = "lever"\noff = true\n', "finding rocks is neither seen nor answered by a check"),
        ('[[finding]]\nid = "rocks"\nwithout = 0\n', "line 3: without is 0; allowed: above 0 up to 0.9"),
        ('[[finding]]\nid = "rocks"\nseen = 1\n', "line 3: seen must be true or false"),
        ('[[setup]]\nid = "raise"\nminutes = -1\n', "line 3: minutes is -1; allowed: 0 to 600"),
        ("how_many = [0.5, 0.4]\n", "ours.toml line 1: how_many must hold 2 to 4 chances"),
        ("how_many = 3\n", "how_many must hold"),
        ("minutes_to_look = 0\n", "ours.toml line 1: minutes_to_look is 0"),
        ("origin_of_numbers = 3\n", "ours.toml line 1: origin_of_numbers must be a text"),
    ],
)
def test_what_is_wrong_is_told_with_its_line(text: str, told: str) -> None:
    with pytest.raises(TableProblems) as refused:
        overlaid_tables(text, "ours.toml")
    assert told in str(refused.value)


def test_everything_wrong_is_told_at_once() -> None:
    with pytest.raises(TableProblems) as refused:
        overlaid_tables(GOOD + "weight = 0\nremedy = 3\n", "ours.toml")
    assert len(refused.value.problems) == 2


def test_a_cause_that_shows_nothing_and_too_few_causes() -> None:
    nothing = GOOD + "[cause.shows]\n" + "".join(f"{name} = 0\n" for name, _ in TABLES.cause("cone").shows)
    with pytest.raises(TableProblems, match="cause cone shows nothing"):
        overlaid_tables(nothing, "ours.toml")
    off = "".join(f'[[cause]]\nid = "{cause.id}"\noff = true\n' for cause in TABLES.causes[1:])
    with pytest.raises(TableProblems, match="fewer than two causes"):
        overlaid_tables(off, "ours.toml")
