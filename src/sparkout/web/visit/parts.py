"""The parts of the visit page that change: made once for the first load, and again for every answer.

Each part carries a digest; a page says which it has, and is sent only what is new to it.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from sparkout.reckoning.answer import Untold
from sparkout.telling import finding, work
from sparkout.telling.after import after
from sparkout.telling.whole import sources, summary
from sparkout.web.shell.pages import text_of
from sparkout.web.visit.drawn import drawn_at
from sparkout.web.visit.grinding import done_passes, passes_at_the_bench

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.telling.section import Section
    from sparkout.web.visit.bench import Bench
    from sparkout.web.visit.places import Box, Group

PANELS = ("decide", "grind", "check", "set", "prove", "sign")


@dataclass(frozen=True, slots=True)
class Part:
    """One fragment of the page with its own id."""

    id: str
    inside: str
    tag: str = "div"
    attributes: str = ""

    @property
    def digest(self) -> str:
        """Changes whenever the part does."""
        return f"{zlib.crc32((self.attributes + self.inside).encode()):x}"

    def html(self, *, oob: bool = False) -> str:
        """Return the fragment; `oob` when it is to take the place of the one on the page."""
        swap = ' hx-swap-oob="true"' if oob else ""
        return (
            f'<{self.tag} id="{self.id}" data-digest="{self.digest}"{self.attributes}{swap}>{self.inside}</{self.tag}>'
        )


@dataclass(frozen=True, slots=True)
class Said:
    """What a refusal or a conflict says beside one box, for this answer only."""

    box: str
    why: str = ""
    mine: str = ""
    theirs: str = ""
    meant: tuple[str, ...] = ()


def page_parts(request: HttpRequest, bench: Bench, said: Said | None = None) -> dict[str, Part]:
    """Return every part of the page by its id."""
    found = [_rail(request, bench), _now(request, bench)]
    found += [_told(request, bench, group, box, said) for group in bench.groups for box in group.all_boxes]
    found += [_panel(request, bench, name) for name in PANELS]
    found += [
        Part(f"told-{proof.id}", "", "div", f' data-version="{proof.version}" class="unseen"') for proof in bench.proofs
    ]
    return {part.id: part for part in found}


def changed(request: HttpRequest, bench: Bench, have: str, said: Said | None = None) -> str:
    """Return the parts that differ from those the page says it has."""
    known = {name for name in have.split() if name}
    parts = page_parts(request, bench, said).values()
    fresh = [
        part for part in parts if f"{part.id}:{part.digest}" not in known or (said and part.id == f"told-{said.box}")
    ]
    return "".join(part.html(oob=True) for part in fresh) or "<!-- nothing new -->"


def _rail(request: HttpRequest, bench: Bench) -> Part:
    return Part("rail-steps", text_of(request, "visit/rail.html", {"steps": bench.steps}), "ol")


def _now(request: HttpRequest, bench: Bench) -> Part:
    context: dict[str, Any] = {"bench": bench, "stations": drawn_at(bench)}
    if bench.answer is not None:
        pictures = bench.pictures
        context |= {
            "summary": summary(bench.answer, bench.showing),
            "pictures": {k: mark_safe(v) for k, v in pictures.items()},
        }
    return Part("now-part", text_of(request, "visit/now.html", context))


def _told(request: HttpRequest, bench: Bench, group: Group, box: Box, said: Said | None) -> Part:
    on_file = bench.filed.get(box.key)
    version, shown = ("", "") if on_file is None else (str(on_file.version), on_file.in_grid)
    meaning = bench.meanings.get(box.key)
    odd = meaning is not None and meaning.label in bench.outliers
    own = said if said is not None and said.box == box.id else None
    asked = bench.asked.get(box.key, [])
    about: str = format_html(' data-version="{}" data-shown="{}"', version, shown)
    about += ' data-next="1"' if box in bench.next_boxes else ""
    if group.grid is not None:
        state = "no" if own else "odd" if odd else ""
        inside = "✕" if own else "!" if odd else "?" if asked else "✓" if on_file else ""
        words = own.why if own else "does not fit the others" if odd else " ".join(asked)
        about += format_html(' class="{}" title="{}"', state, bench.showing.say(words)) if words else ""
        if own is not None:
            inside += f'<span class="unseen">{format_html("{}", own.why)}</span>'
        return Part(f"told-{box.id}", inside, "output", about)
    if not (on_file or meaning or own or asked or box in bench.next_boxes):
        return Part(f"told-{box.id}", "", "div", ' class="told"' + about)
    context = {
        "bench": bench, "box": box, "file": on_file, "meaning": meaning, "odd": odd, "said": own, "asked": asked,
        "next": box in bench.next_boxes,
        "means": "" if meaning is None else bench.showing.say(finding.means(meaning, bench.showing)),
        "why": "" if meaning is None else bench.showing.say(meaning.why),
    }  # fmt: skip
    return Part(f"told-{box.id}", text_of(request, "visit/told.html", context), "div", ' class="told"' + about)


def _panel(request: HttpRequest, bench: Bench, name: str) -> Part:
    context: dict[str, Any] = {"bench": bench, "answer": bench.answer}
    if bench.answer is not None:
        context |= _sections(bench, name)
    return Part(f"panel-{name}", text_of(request, f"visit/panel_{name}.html", context))


def _sections(bench: Bench, name: str) -> dict[str, Any]:
    answer, showing = bench.answer, bench.showing
    assert answer is not None
    pictures: dict[str, SafeString] = {k: mark_safe(v) for k, v in bench.pictures.items()}
    found: dict[str, Any] = {"pictures": pictures}
    if name == "decide":
        found |= {"state": finding.state(answer, showing), "verdicts": finding.verdicts(answer, showing)}
        found |= {"knife": work.knife(answer, showing), "sources": sources(answer, showing)}
    elif name == "grind":
        by_key: dict[str, Section] = {s.key.replace(" ", "_"): s for s in work.spin(answer, showing)}
        found |= {
            "spin": by_key,
            "relief": work.relief(answer, showing),
            "planned": not isinstance(answer.spin, Untold),
        }
        found |= {"passes": passes_at_the_bench(bench), "done": done_passes(bench)}
    elif name == "check":
        found["after"] = after(answer, showing)
    elif name == "set":
        found["setting"] = work.setting(answer, showing)
    elif name == "prove":
        found["proof"] = work.proof(answer, showing)
    return found
