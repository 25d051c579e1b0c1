"""A page of figures typed on one side and what follows on the other, made anew as one types.

Everything typed stands in the page's address, with its units: it can be sent, gone back to, and works without script.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from django.utils.safestring import mark_safe

from sparkout.core.errors import OutOfRange, Refusal
from sparkout.visit.asked import Quantity
from sparkout.visit.problems import Problem, VisitProblems
from sparkout.visit.words import Whole
from sparkout.web.shell.form import Form
from sparkout.web.shell.pages import page

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from django.http import HttpRequest, HttpResponse

    from sparkout.showing import Showing
    from sparkout.telling.section import Section
    from sparkout.web.shell.form import Group

    Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Told:
    """What follows from what was typed: names still wanted, sections of words, pictures (SVG text)."""

    wanting: tuple[str, ...] = ()
    sections: tuple[Section, ...] = ()
    pictures: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Live:
    """One such page."""

    address: str
    """Name of the page's address."""
    title: str
    about: str
    tell: Callable[[Values, Showing], Told]
    """What follows; may refuse."""
    boxes: Mapping[str, str] = field(default_factory=dict)
    """The box beside which a refusal of a calculation's argument stands, where the two are named differently."""


@dataclass(slots=True)
class Asked:
    """What was typed on a page, what it is of, and what follows."""

    form: Form
    kept: dict[str, str]
    """What the page is of (a unit, a visit, a machine), as its address holds it."""
    told: Told = Told()

    @property
    def pairs(self) -> list[tuple[str, str]]:
        """Everything typed that says something, bare numbers with their unit."""
        values = dict(self.form.values)
        with suppress(VisitProblems):  # as typed then
            values |= {name: text for name, text in self.form.typed().items() if text is not None}
        return [(name, value) for name, value in values.items() if value]

    @property
    def query(self) -> str:
        """The page's address without its path."""
        return "?" + urlencode([*self.kept.items(), *self.pairs])


def asked(
    request: HttpRequest, live: Live, groups: Sequence[Group], start: Mapping[str, str], kept: dict[str, str],
    showing: Showing,
) -> Asked:  # fmt: skip
    """Return what was typed, else what is on file, and what follows from it."""
    form = Form(groups, showing, dict(start), prefix="s")
    if any(entry.name in request.GET for entry in form.fields):
        form.take(request.GET)
    made = Asked(form, kept)
    try:
        made.told = live.tell(core_values(form), showing)
    except Refusal as refusal:
        form.refuse(_placed(refusal, live.boxes, {entry.name for entry in form.fields}))
    return made


def core_values(form: Form) -> Values:
    """Return what was typed, in core units; nothing where nothing was.

    Raises
    ------
    VisitProblems
        With everything that is wrong in itself.
    """
    takes = {entry.name: entry.takes for entry in form.fields}
    found: Values = {}
    for name, text in form.typed().items():
        if text is None:
            continue
        asks = takes[name]
        if isinstance(asks, Quantity):
            found[name] = float(asks.read(text))
        else:
            found[name] = int(text) if isinstance(asks, Whole) else text
    return found


def _placed(refusal: Refusal, boxes: Mapping[str, str], names: set[str]) -> Refusal:
    """Return a calculation's refusal as one of the box it is about, where there is one."""
    if not isinstance(refusal, OutOfRange):
        return refusal
    name = boxes.get(refusal.argument, refusal.argument)
    return VisitProblems([Problem(name, None, refusal.words)]) if name in names else refusal


def answer(request: HttpRequest, live: Live, made: Asked, path: str, **more: Any) -> HttpResponse:
    """Return the page, or only what follows when the open page asks for it."""
    showing = made.form.showing
    boxes = [box for group in made.form.shown() for box in group.boxes]
    labels = {box.name: box for box in boxes}
    context = {
        "title": showing.say(live.title),
        "about": showing.say(live.about),
        "form": made.form,
        "kept": made.kept,
        "pairs": made.pairs,
        "boxes": boxes,
        "amiss": [box for box in boxes if box.wrong],
        "rest": made.form.rest,
        "wanting": [labels[name] for name in made.told.wanting if name in labels],
        "sections": [section.said(showing) for section in made.told.sections],
        "pictures": [mark_safe(svg) for svg in made.told.pictures],
        "address": path,
        "part": f"{path}told/",
        **more,
    }
    if "HX-Request" not in request.headers:
        return page(request, "stand/page.html", context)
    part = page(request, "stand/part.html", context)
    part["HX-Replace-Url"] = path + made.query
    return part


def in_boxes(values: Mapping[str, float | str | None], units: Mapping[str, str], showing: Showing) -> dict[str, str]:
    """Return core values as they stand in boxes that take any unit: lengths in the reader's, as finely as is of use."""
    from sparkout.units import from_core

    shown = {}
    for name, value in values.items():
        if isinstance(value, str):
            shown[name] = value
        elif value is not None:
            kind, _, unit = units.get(name, "length").partition("/")
            if kind == "length":
                shown[name] = showing.boxed(value)
            else:
                shown[name] = f"{from_core(value, kind, unit):.6g} {unit}".strip().replace(".", showing.decimal)
    return shown
