"""The visit page: first load, refresh, job card, visit file."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from django.http import HttpResponse
from django.middleware.csrf import get_token
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from sparkout.core.cautions import cautions_for
from sparkout.core.days import dated
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.papers.card import write_card
from sparkout.records.models import Gauge
from sparkout.visit.quantities import QUANTITIES, READINGS
from sparkout.visit.writing import to_toml
from sparkout.web.shell.pages import page, refused, remembered, text_of
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.visit.bench import bench_for
from sparkout.web.visit.group import group_shown
from sparkout.web.visit.parts import PANELS, changed, page_parts
from sparkout.web.visit.steps import TITLES
from sparkout.web.visit.what_if import RELIEF, Choices, compared, sliders

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.showing import Showing
    from sparkout.web.visit.bench import Bench
    from sparkout.web.visit.part import Part

_CAUTIONED = ("take in", "look over", "bearings", "measure reel", "measure knife", "prove")
"""Steps whose cautions stand at their head; those of the others stand with the plan."""
_ATTACHED = re.compile(r"<!-- attached:([a-z ]+) -->\n")
_TOKEN = "token-of-the-request"
"""Stands in a page's body until it is sent."""
_PAD_WORDS = {"back": "⌫", "-": "−", " ": "␣", "enter": "⏎"}


def bench_of(request: HttpRequest, number: int) -> Bench:
    """Return the bench of one visit, for this reader."""
    return bench_for(number, reader_of(request).showing, five="five" in request.GET)


@somebody
@require_safe
def visit(request: HttpRequest, number: int) -> HttpResponse:
    """The whole page."""
    bench = bench_of(request, number)
    return page(request, "visit/page.html", {"bench": bench, "pieces": _pieces(request, bench)})


def _pieces(request: HttpRequest, bench: Bench) -> list[tuple[str, str]]:
    """Return the page's body in pieces, each with the step whose photographs come after it.

    Made once for as long as nothing is written; what belongs to one request alone is put in afterwards.
    """
    key = f"body {reader_of(request).actor.pk}"
    if key not in bench.made:
        context = {**_context(request, bench), "csrf_token": _TOKEN}
        found = _ATTACHED.split(text_of(request, "visit/body.html", context))
        bench.made[key] = list(zip(found[::2], [*found[1::2], ""], strict=True))
    token = get_token(request)
    return [(html.replace(_TOKEN, token), step) for html, step in bench.made[key]]


@somebody
@require_safe
def answer(request: HttpRequest, number: int) -> HttpResponse:
    """What has changed since the page was made."""
    parts = "".join(changed(request, bench_of(request, number), request.GET.get("have", "")))
    return HttpResponse(parts, headers={"Cache-Control": "no-store"})


@somebody
@require_safe
def card(request: HttpRequest, number: int) -> HttpResponse:
    """The job card."""
    bench = bench_of(request, number)
    if bench.answer is None:
        return refused(request, bench.trouble_after)
    paper: Any = bench.file.visit.paper_size or reader_of(request).paper
    return _download(write_card(bench.answer, bench.showing, paper), "application/pdf", bench, "pdf")


@somebody
@require_safe
def file(request: HttpRequest, number: int) -> HttpResponse:
    """The visit file."""
    bench = bench_of(request, number)
    return _download(to_toml(bench.file).encode(), "application/toml", bench, "toml")


def _download(content: bytes, kind: str, bench: Bench, ending: str) -> HttpResponse:
    name = slugify(f"{bench.visit.unit.name} {bench.visit.date or ''}") or "visit"
    return HttpResponse(content, kind, headers={"Content-Disposition": f'attachment; filename="{name}.{ending}"'})


def _context(request: HttpRequest, bench: Bench) -> dict[str, Any]:
    parts = page_parts(request, bench)
    gauges = {gauge.name: gauge.kind for gauge in Gauge.objects.filter(retired=False).order_by("name")}
    told: dict[str, str] = {}
    shown = [_step(bench, name, title, parts, gauges, told) for name, title in TITLES.items()]
    off = "" if bench.visit.is_open else " disabled"
    movable = sliders(bench) if bench.answer is not None and bench.visit.is_open else ()
    figures = compared(bench, Choices({}, {})) if movable else ()
    day = bench.showing.say(dated(bench.visit.date)) if bench.visit.date else ""
    about = (bench.visit.unit.position, day, bench.visit.technician)
    return {
        "bench": bench,
        "about": " · ".join(str(part) for part in about if part),
        "parts": {"rail": parts["rail-steps"].html(), "now": parts["now-part"].html()},
        "steps": shown,
        "proofs": [
            remembered(
                "visit/proof.html", bench.showing, visit=bench.visit.pk, off=off, proof=proof,
                unfolded=i == 0 or proof.entry is not None, told=parts[f"told-{proof.id}"].html(),
            )
            for i, proof in enumerate(bench.proofs)
        ],
        "off": off,
        "pad": [{"sent": key, "shown": _PAD_WORDS.get(key, key)} for key in pad(bench.showing)],
        "taken_in": taken_in(bench),
        "looked_over": [
            work.what or bench.showing.say(phrase("done")) for work in bench.file.work if work.step == "look over"
        ],
        "bearing_work": [
            work.what or bench.showing.say(phrase("done")) for work in bench.file.work if work.step == "bearings"
        ],
        "quantities": [(name, bench.showing.say(name)) for name in READINGS if QUANTITIES[name].kind != "number"],
        "gauges": list(gauges),
        "elsewhere": elsewhere(bench),
        "sliders": movable,
        "chosen": movable,
        "lines": figures,
        "what_if_trouble": figures if isinstance(figures, str) else "",
        "relief": RELIEF,
        "relief_now": bench.file.wanted.relief or "if due",
    }  # fmt: skip


def pad(showing: Showing) -> tuple[str, ...]:
    """Return what the big keys type, row by row: in this reader's words, units and decimal mark."""
    go, stops = showing.say(phrase("go")), showing.say(phrase("nogo"))
    unit = showing.unit("length")
    return (
        "7", "8", "9", "back", "-",
        "4", "5", "6", "thou", " ",
        "1", "2", "3", showing.decimal, "enter",
        "0", go, stops, unit,
    )  # fmt: skip


def taken_in(bench: Bench) -> list[tuple[str, str]]:
    """Return what the unit is, in the reader's units."""
    spec, unit, showing = bench.file.reel, bench.file.unit, bench.showing
    not_said = phrase("not said")
    found: list[tuple[str, str]] = [
        (
            phrase("reel"),
            phrase(
                "{blades} blades, {diameter} × {length}",
                blades=spec.blades,
                diameter=showing.length(float(spec.diameter)),
                length=showing.place(float(spec.length)),
            ),
        ),
        (phrase("marked blade"), AsTyped(spec.marked_blade) if spec.marked_blade else not_said),
        (phrase("hours"), AsTyped(unit.hours.text) if unit.hours is not None else not_said),
        (
            phrase("height of cut"),
            not_said if bench.file.height.of_cut is None else showing.length(float(bench.file.height.of_cut)),
        ),
    ]
    return [(showing.say(name), showing.say(value)) for name, value in found]


def elsewhere(bench: Bench) -> list[str]:
    """Return readings on file that have no box of their own."""
    boxed = {box.key for _, box in bench.boxes.values()}
    return [
        f"{bench.showing.say(meaning.label)}: {bench.showing.typed(meaning.shown)}"
        for key, meanings in bench.meanings.items()
        if key not in boxed
        for meaning in meanings
    ]


def _cautions(bench: Bench, name: str, title: str, told: dict[str, str]) -> list[str]:
    """Return the cautions of a step: each in full where it first applies, pointed back to after."""
    short = dict.fromkeys(c.short for c in (cautions_for(name) if name in _CAUTIONED else ()))
    earlier = list(dict.fromkeys(told[text] for text in short if text in told))
    fresh = [text for text in short if text not in told]
    told |= dict.fromkeys(fresh, title)
    pointer = (
        [phrase("What is said under {earlier} applies here too.", earlier=joined(" and under ", earlier))]
        if earlier
        else []
    )
    return [bench.showing.say(text) for text in (*fresh, *pointer)]


def _step(
    bench: Bench, name: str, title: str, parts: dict[str, Part], gauges: dict[str, str], told: dict[str, str]
) -> dict[str, Any]:
    say = bench.showing.say
    panels = (f"panel-{panel}" for panel in PANELS.get(name, (name,)))
    return {
        "name": name,
        "slug": name.replace(" ", "-"),
        "title_said": say(title),
        "cautions": _cautions(bench, name, title, told),
        "groups": [group_shown(bench, group, parts, gauges) for group in bench.groups if group.step == name],
        "panels": [parts[panel].html() for panel in panels if panel in parts],
    }
