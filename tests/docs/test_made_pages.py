"""The committed pages are what docs/make.py makes, and say what they must."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from docs.make import PAGES, main
from docs.making import validation
from docs.making.commands import shown
from docs.making.markdown import table
from tests.published.evidence import SEEN_WAYS, Check

from sparkout.catalogue.listing import CATALOGUE, calculate
from sparkout.cli.main import COMMANDS
from sparkout.glossary import QUANTITIES, TERMS

DOCS = Path(__file__).parents[2] / "docs"
VALIDATION = "validation.md"
MAY_DIFFER = ("obtained", "other route, worst case", "difference", "digits", "fewest digits")
"""Columns whose last digits belong to a machine: held to what the row allows, not letter by letter."""


def committed(name: str) -> str:
    return (DOCS / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", [name for name in PAGES if name != VALIDATION])
def test_the_committed_page_is_the_one_made(name: str) -> None:
    assert PAGES[name]() == committed(name), f"run: python docs/make.py {name}"


def test_the_committed_validation_page_is_the_one_made() -> None:
    made, kept = PAGES[VALIDATION]().splitlines(), committed(VALIDATION).splitlines()
    head, before = [""], [""]
    for one, other in zip(made, kept, strict=True):
        cells, old = (line.split(" | ") for line in (one, other))
        head, before = before if one.startswith("| ---") else head, cells
        if one == other:
            continue
        assert len(cells) == len(old) == len(head), f"run: python docs/make.py {VALIDATION}: {one!r}, not {other!r}"
        for name, new, was in zip(head, cells, old, strict=True):
            assert new == was or alike(name.strip("| "), new, was), f"run: python docs/make.py {VALIDATION}: {one!r}"


def alike(column: str, new: str, was: str) -> bool:
    """Whether two cells say the same but for what a machine decides; that a value is allowed its own test asks."""
    if column not in MAY_DIFFER:
        return False
    if "digits" in column:
        return abs(int(new) - int(was)) <= 1
    numbers = [0.0 if cell == "none" else float(cell) for cell in (new, was)]
    return column == "difference" or abs(numbers[0] - numbers[1]) <= 1e-5 * max(map(abs, numbers))


def test_a_page_that_is_not_made_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["nonsense.md"]) == 2
    assert "not a page that is made: nonsense.md; allowed: glossary.md" in capsys.readouterr().err


def test_every_quantity_term_entry_and_command_has_its_place() -> None:
    for key in QUANTITIES:
        assert f"| `{key}` |" in committed("glossary.md")
    for term in TERMS:
        assert f"| {term.uk} | {term.us} |" in committed("glossary.md")
    for entry in CATALOGUE.values():
        part = committed("calculations.md").split(f"\n## {entry.name}\n")[1].split("\n## ")[0]
        for said in (entry.title, entry.equation, entry.source, entry.validity, entry.caution):
            assert said in part
        assert all(f"| `{item.key}` |" in part for item in (*entry.inputs, *entry.results))
        assert f"$ sparkout calc {entry.name} {entry.example}" in part
    for name in COMMANDS:
        assert f"$ sparkout {name} --help" in committed("commands.md")


@pytest.mark.parametrize("name", CATALOGUE)
def test_every_example_of_the_catalogue_answers(name: str) -> None:
    pairs = dict(pair.split("=", 1) for pair in shlex.split(CATALOGUE[name].example))
    answered = calculate(name, pairs)
    assert f"{next(iter(answered.results))} = " in shown(["calc", name, *shlex.split(CATALOGUE[name].example)])


def test_every_published_file_stands_on_the_page_and_says_how_its_figures_were_seen() -> None:
    page = committed(VALIDATION)
    for path in sorted((DOCS.parent / "tests" / "published").glob("test_*.py")):
        assert f"In `tests/published/{path.name}`." in page, path.name
        assert any(f'SEEN = "{way}"' in path.read_text(encoding="utf-8") for way in SEEN_WAYS), path.name
    for recording in validation.RECORDING[1:]:
        assert f"In `{recording}`." in page


@pytest.mark.parametrize(
    ("value", "tolerance", "text"),
    [(7.957, 0.001, "7.957"), (-0.93, 0.0005, "-0.930"), (85.0, 2.5, "85"), (4.0, 0.0, "4"), (9e-05, 5e-06, "9e-05")],
)
def test_a_printed_figure_keeps_its_digits(value: float, tolerance: float, text: str) -> None:
    assert validation.as_printed(value, tolerance) == text


@pytest.mark.parametrize(
    ("value", "tolerance", "text"),
    [(0.46547, 0.0005, "0.4655"), (24.99999999998, 0.5, "25.0"), (1e-9, 1e-6, "0"), (16.0, 0.0, "16")],
)
def test_an_obtained_figure_shows_one_digit_more(value: float, tolerance: float, text: str) -> None:
    assert validation.figure(value, tolerance) == text


def test_a_row_from_memory_says_so_whatever_its_file_says() -> None:
    module = "tests.published.test_jcgm100_h1"
    assert validation.seen_as(Check("x", "y", 1, 1, 1, "", module)) == "as quoted elsewhere"
    assert validation.seen_as(Check("x", "y", 1, 1, 1, "printed from memory, not seen", module)) == "from memory"
    with pytest.raises(SystemExit, match="does not say SEEN"):
        validation.seen_as(Check("x", "y", 1, 1, 1, "", "tests.published.evidence"))


def test_only_the_worst_of_equal_comparisons_is_shown() -> None:
    module = "tests.core.gauges.test_diameter_gauges"
    checks = [Check("s", "q", 1.0, 0.1, obtained, "", module, published=False) for obtained in (1.01, 1.05, 0.98)]
    assert "| q | 3 | 1.00 | 1.05 | 0.05 | 0.1 |  |" in validation.told(checks)


def test_a_bar_does_not_break_a_table() -> None:
    assert table(("a",), [("x | y",)]).splitlines()[-1] == "| x \\| y |"


@pytest.mark.parametrize(
    ("column", "new", "was", "same"),
    [
        ("obtained", "0.1234567", "0.1234568", True),
        ("obtained", "0.1234", "0.1235", False),
        ("digits", "12", "13", True),
        ("digits", "9", "12", False),
        ("difference", "none", "3e-09", True),
        ("printed", "1.00000001", "1.00000002", False),
    ],
)
def test_only_what_a_machine_decides_may_differ(column: str, new: str, was: str, same: bool) -> None:
    assert alike(column, new, was) is same
