"""What a technician types, taken apart: the forms asked for, and that no figure typed ever gets lost."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sparkout.core.errors import Refusal
from sparkout.web.visit.typed import Typed, understood

ONE = {
    "2 thou": "2 thou",
    ".05": ".05 mm",
    "127.4": "127.4 mm",
    "127,4": "127,4 mm",
    "-0.04": "-0.04 mm",
    "5 1/2": "5 1/2 mm",
    "1/16 in": "1/16 in",
    '5 1/2"': '5 1/2"',
    "0.05mm": "0.05mm",
    "5e-2": "5e-2 mm",
    "+3": "+3 mm",
    "− 0,02": "− 0,02 mm",
    "-1/64": "-1/64 mm",
    "1/64": "1/64 mm",
    " 2.5\r\n": "2.5 mm",
    "2\u00a0thou\t": "2 thou",
    "rubbish": "rubbish",  # refused by the visit's own declarations, in their words
}
TWO = {
    "go 1.9 nogo 2.0": ("1.9 mm", "2.0 mm"),
    "1.9 2.0": ("1.9 mm", "2.0 mm"),
    "1.9/2.0": ("1.9 mm", "2.0 mm"),
    "1.9-2.0": ("1.9 mm", "2.0 mm"),
    "1.9 to 2.0": ("1.9 mm", "2.0 mm"),
    "1.9 2.0 thou": ("1.9 thou", "2.0 thou"),
    "1.9 goes 2.0 does not": ("1.9 mm", "2.0 mm"),
    "goes 1.90, not 2.00": ("1.90 mm", "2.00 mm"),
    "no-go 2 go 1.9": ("1.9 mm", "2 mm"),
    "go 1/16 nogo 3/32 in": ("1/16 in", "3/32 in"),
    "go 1.9": ("1.9 mm", None),
    "1.9 goes": ("1.9 mm", None),
    "nogo 2.0": (None, "2.0 mm"),
    "2.0 doesn't go": (None, "2.0 mm"),
    "geht 1,9 geht nicht 2,0": ("1,9 mm", "2,0 mm"),
    "1,9 geht, 2,0 nicht": ("1,9 mm", "2,0 mm"),
    "1,9 bis 2,0": ("1,9 mm", "2,0 mm"),
    "geht nicht 2,0": (None, "2,0 mm"),
}


@pytest.mark.parametrize(("line", "value"), ONE.items())
def test_one_value(line: str, value: str) -> None:
    assert understood(line, "mm") == Typed({"value": value})


@pytest.mark.parametrize(("line", "leaves"), TWO.items())
def test_two_leaves(line: str, leaves: tuple[str | None, str | None]) -> None:
    wanted = {key: value for key, value in zip(("goes", "does_not_go"), leaves, strict=True) if value}
    assert understood(line, "mm", leaves=True).fields == wanted
    with pytest.raises(Refusal, match="two leaves"):
        understood(line, "mm")


@pytest.mark.parametrize(
    ("line", "value"),
    [("1/64", "1/64 in"), ("-1/64", "-1/64 in"), ("2", "2 thou"), ("5e-2", "5e-2 thou"), ("1/64 mm", "1/64 mm")],
)
def test_a_fraction_is_one_of_an_inch_beside_thou(line: str, value: str) -> None:
    assert understood(line, "thou").fields == {"value": value}


def test_words_of_another_language() -> None:
    assert understood("links 1,9 2,0", "mm", leaves=True).at == "left"
    assert understood("rechtes Viertel Messer 3 0,02", "mm") == Typed({"value": "0,02 mm"}, "right quarter", 3)
    assert understood("noch einmal 127,4", "mm") == Typed({"value": "127,4 mm"}, again=True)


def test_place_and_blade() -> None:
    assert understood("left go 1.9 nogo 2.0", "mm", leaves=True).at == "left"
    assert understood("right quarter b3 0.02", "mm") == Typed({"value": "0.02 mm"}, "right quarter", 3)
    assert understood("blade 11: .5", "thou") == Typed({"value": ".5 thou"}, "", 11)
    assert understood("lq -", "mm") == Typed({}, "left quarter")
    assert understood("centre 2", "mm").at == "centre"


@pytest.mark.parametrize("line", ["", "   ", "left", "go goes", "1.9 2.0 go 3 4"])
def test_what_cannot_be_read_is_refused(line: str) -> None:
    with pytest.raises(Refusal):
        understood(line, "mm", leaves=True)


figures = st.decimals(0, 999, allow_nan=False, places=3).map(str)
units = st.sampled_from(["", "mm", "thou", "in"])


@given(
    figures,
    figures,
    units,
    st.sampled_from(["{a} {b}{u}", "go {a} nogo {b}{u}", "nogo {b} go {a}{u}", "{a}{u}", "go {a}{u}"]),
)
def test_no_figure_typed_is_lost(a: str, b: str, unit: str, form: str) -> None:
    line = form.format(a=a, b=b, u=f" {unit}" if unit else "")
    found = " ".join(understood(line, "mm", leaves=True).fields.values())
    for figure in re.findall(r"\d+\.\d+", line):
        assert figure in found
    assert (unit or "mm") in found
