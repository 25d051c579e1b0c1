"""The parts of the visit page that change: made once for the first load, and again for every answer.

Each part carries a digest; a page says which it has, and is sent only what is new to it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import phrase
from sparkout.reckoning.answer import Untold
from sparkout.telling import finding, work
from sparkout.telling.after import after
from sparkout.telling.bearings import told_bearings
from sparkout.telling.whole import sources, summary
from sparkout.web.shell.pages import text_of
from sparkout.web.visit.drawn import drawn_at
from sparkout.web.visit.grinding import done_passes, lapsed, passes_at_the_bench
from sparkout.web.visit.part import Part
from sparkout.web.visit.told import again_parts, beside

if TYPE_CHECKING:
    from collections.abc import Iterator

    from django.http import HttpRequest

    from sparkout.reckoning.answer import Answer
    from sparkout.showing import Showing
    from sparkout.telling.section import Section, Table
    from sparkout.web.visit.bench import Bench
    from sparkout.web.visit.papers import ProofAtTheBench


AT_ONCE = ("told", "now", "rail", "decide")
"""What follows at once after an entry: what the reading means, the state of the reel, verdicts, drawings."""
PANELS = {"decide": ("decide", "knife")}
"""The panels of a step whose parts are not ready at once; every other step has one of its own name."""
OF_THE_ANSWER = ("now", "decide")
"""Those that tell of the answer alone, so that they can be made before an entry is on file."""
AFTER = ("bearings", "knife", "grind", "check", "set", "prove", "sign", "again", "proofs")
"""What a moment later."""
FIRST, MORE = "<!-- kept -->", "\n<!-- more -->\n"
"""Before an answer's first part, which says that the entry is kept or what stands against it; and between its parts."""


def page_parts(request: HttpRequest, bench: Bench) -> dict[str, Part]:
    """Return every part of the page by its id."""
    return {part.id: part for part in _parts(request, bench, (*AT_ONCE, *AFTER))}


def changed(request: HttpRequest, bench: Bench, have: str) -> Iterator[str]:
    """Return the parts that differ from those the page says it has, stage by stage."""
    known = set(have.split())
    for stage in (AT_ONCE, AFTER):
        parts = _parts(request, bench, stage)
        fresh = [part for part in parts if f"{part.id}:{part.digest}" not in known]
        yield "".join(part.html() for part in fresh) + MORE


def _parts(request: HttpRequest, bench: Bench, names: tuple[str, ...]) -> list[Part]:
    return [part for name in names for part in _named(request, bench, name)]


def _named(request: HttpRequest, bench: Bench, name: str) -> list[Part]:
    if name == "told":
        return [beside(bench, group, box) for group in bench.groups for box in group.all_boxes]
    if name in OF_THE_ANSWER:
        return bench.made_once(name, lambda: _made(request, bench, name))
    if name not in bench.made:
        bench.made[name] = _made(request, bench, name)
    found: list[Part] = bench.made[name]
    return found


def made_ahead(request: HttpRequest, bench: Bench) -> Iterator[None]:
    """Make what tells of a bench's answer, with a breath before each step."""
    yield
    if bench.found is not None:
        for name in OF_THE_ANSWER:
            yield
            _named(request, bench, name)


def _made(request: HttpRequest, bench: Bench, name: str) -> list[Part]:
    if name == "rail":
        return [Part("rail-steps", text_of(request, "visit/rail.html", {"steps": bench.steps}), "ol")]
    if name == "now":
        return [_now(request, bench)]
    if name == "again":
        return again_parts(request, bench)
    if name == "proofs":
        return [_proof(proof) for proof in bench.proofs]
    return [_panel(request, bench, name)]


def _proof(proof: ProofAtTheBench) -> Part:
    about = f' data-version="{proof.version}" data-rows="{proof.rows_filed}" class="unseen"'
    return Part(f"told-{proof.id}", "", "div", about)


def _now(request: HttpRequest, bench: Bench) -> Part:
    context: dict[str, Any] = {"bench": bench, "stations": drawn_at(bench)}
    if bench.found is not None:
        context |= {"summary": summary(bench.found, bench.showing), "pictures": bench.pictures}
    return Part("now-part", text_of(request, "visit/now.html", context))


def _panel(request: HttpRequest, bench: Bench, name: str) -> Part:
    context: dict[str, Any] = {"bench": bench}
    if name == "decide":
        context |= _decided(bench)
    elif bench.answer is not None:
        context |= _sections(bench.answer, bench, name)
    return Part(f"panel-{name}", text_of(request, f"visit/panel_{name}.html", context))


def _decided(bench: Bench) -> dict[str, Any]:
    found, showing = bench.found, bench.showing
    if found is None:
        return {}
    verdicts = finding.verdicts(found, showing)
    rows = [_verdict(table, row) for table in verdicts.tables for row in table.rows]
    return {"pictures": bench.pictures, "state": finding.state(found, showing), "verdicts": verdicts, "rows": rows}


def _verdict(table: Table, row: tuple[str, ...]) -> dict[str, Any]:
    """Return one line of the verdicts: quantity, what was found, verdict; the rest under its heads to unfold."""
    in_sight = {0: "what", 2: "found", 3: "outcome"}
    folded = [(head, cell) for i, (head, cell) in enumerate(zip(table.head, row, strict=True)) if i not in in_sight]
    return {**{name: row[i] for i, name in in_sight.items()}, "folded": folded}


def _sections(answer: Answer, bench: Bench, name: str) -> dict[str, Any]:
    showing = bench.showing
    found: dict[str, Any] = {"pictures": bench.pictures}
    if name == "knife":
        found |= {"knife": work.knife(answer, showing), "sources": sources(answer, showing)}
    elif name == "bearings":
        found["told"] = told_bearings(answer, showing)
    elif name == "grind":
        told = _each_once([*work.spin(answer, showing), work.relief(answer, showing)], showing)
        by_key: dict[str, Section] = {s.key.replace(" ", "_"): s for s in told[:-1]}
        found |= {
            "spin": by_key,
            "relief": told[-1],
            "planned": not isinstance(answer.spin, Untold),
        }
        found |= {"passes": passes_at_the_bench(bench), "done": done_passes(bench), "lapsed": lapsed(bench)}
    elif name == "check":
        found["after"] = after(answer, showing)
    elif name == "set":
        found["setting"] = work.setting(answer, showing)
    elif name == "prove":
        found["proof"] = work.proof(answer, showing)
    return found


def _each_once(sections: list[Section], showing: Showing) -> list[Section]:
    """Return the sections of one step with each caution in full where it first applies, pointed back to after."""
    first: dict[str, str] = {}
    found = []
    for section in sections:
        earlier = list(dict.fromkeys(first[text] for text in section.cautions if text in first))
        fresh = tuple(text for text in section.cautions if text not in first)
        first |= dict.fromkeys(fresh, section.title)
        pointers = tuple(
            showing.say(phrase("What is said under {place} applies here too.", place=title)) for title in earlier
        )
        found.append(replace(section, cautions=fresh + pointers))
    return found
