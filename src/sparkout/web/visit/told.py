"""What stands beside each box: kept or not, what the reading means, what is asked about it, repeats of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.utils.html import format_html

from sparkout.core.phrase import phrase
from sparkout.records.models import Reading
from sparkout.telling import finding
from sparkout.web.shell.pages import remembered, text_of
from sparkout.web.visit.part import Part

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.reckoning.readings import Meaning
    from sparkout.web.visit.bench import Bench
    from sparkout.web.visit.filed import Filed
    from sparkout.web.visit.papers import Apart
    from sparkout.web.visit.places import Box, Group


@dataclass(frozen=True, slots=True)
class Said:
    """What a refusal or a conflict says beside one box, for this answer only."""

    box: str
    why: str = ""
    mine: str = ""
    theirs: str = ""
    meant: tuple[str, ...] = ()
    apart: tuple[Apart, ...] = ()
    """Spots of a paper proof that somebody else found otherwise."""


@dataclass(frozen=True, slots=True)
class Repeat:
    """A further reading at a place that counts beside the first."""

    entry: int
    version: int
    shown: str
    means: str
    by: str
    at: Any
    place: str


def beside(bench: Bench, group: Group, box: Box) -> Part:
    """Return what stands beside one box."""
    name = f"told-{box.id}"
    if name not in bench.made:
        bench.made[name] = (_in_grid if group.grid is not None else _in_row)(bench, box)
    kept: Part = bench.made[name]
    return kept


def said_part(request: HttpRequest, bench: Bench, said: Said) -> Part:
    """Return what a refusal or a conflict says: a part of its own, which stays until it is settled at its box.

    It goes beside the box, below the grid the box is in, or to its paper proof.
    """
    group, box = bench.every_box.get(said.box, (None, None))
    if group is None:
        into, inside = f"d-{said.box}", text_of(request, "visit/paper_apart.html", {"said": said})
    else:
        in_grid = group.grid is not None
        into = f"s-{group.id}" if in_grid else f"b-{said.box}"
        inside = text_of(request, "visit/said.html", {"said": said, "box": box, "in_grid": in_grid})
    return Part(f"said-{said.box}", inside, "div", f' class="told said" role="alert" data-into="{into}"')


def _about(bench: Bench, box: Box) -> str:
    on_file = bench.filed.get(box.key)
    about: str = ""
    if on_file is not None:
        about = format_html(' data-version="{}" data-shown="{}"', on_file.version, on_file.shown)
    return about + (' data-next="1"' if box in bench.next_boxes else "")


def _odd(bench: Bench, meanings: list[Meaning]) -> bool:
    return any(meaning.label in bench.outliers for meaning in meanings)


def _in_grid(bench: Bench, box: Box) -> Part:
    on_file, asked = bench.filed.get(box.key), bench.asked.get(box.key, [])
    odd = _odd(bench, bench.meanings.get(box.key, []))
    count = 1 + len(on_file.repeats) if on_file else 0
    inside = "!" if odd else "?" if asked else "✓" if on_file else ""
    inside += f"{count}" if count > 1 else ""
    words = phrase("does not fit the others") if odd else " ".join(asked)
    about = _about(bench, box)
    about += format_html(' class="{}" title="{}"', "odd" if odd else "", bench.showing.say(words)) if words else ""
    return Part(f"told-{box.id}", inside, "output", about)


def _in_row(bench: Bench, box: Box) -> Part:
    on_file, asked = bench.filed.get(box.key), bench.asked.get(box.key, [])
    meanings = bench.meanings.get(box.key, [])
    following, about = box in bench.next_boxes, ' class="told"' + _about(bench, box)
    if not (on_file or meanings or asked or following):
        return Part(f"told-{box.id}", "", "div", about)
    first = meanings[0] if meanings else None
    inside = remembered(
        "visit/told.html",
        bench.showing,
        visit=bench.visit.pk,
        is_open=bench.visit.is_open,
        box=box,
        kept=None if on_file is None else (on_file.by, on_file.at),
        odd=_odd(bench, meanings),
        asked=tuple(asked),
        next=following,
        means=_means(bench, first),
        why="" if first is None else bench.showing.say(first.why),
        repeats=tuple(repeats(bench, box)),
    )
    return Part(f"told-{box.id}", inside, "div", about)


def _means(bench: Bench, meaning: Meaning | None) -> str:
    return "" if meaning is None else bench.showing.say(finding.means(meaning, bench.showing))


def repeats(bench: Bench, box: Box) -> list[Repeat]:
    """Return the further readings at a place, each with what it means."""
    on_file = bench.filed.get(box.key)
    if on_file is None or not on_file.repeats:
        return []
    # The file has single readings before those of sweeps: a cell's own meaning is the last one.
    meanings = bench.meanings.get(box.key, [])
    meanings = meanings[len(meanings) - len(on_file.repeats) - 1 :]
    if not _is_reading(on_file):
        meanings = [*meanings[-1:], *meanings[:-1]]
    told = [_means(bench, meaning) for meaning in meanings[1:]] or [""] * len(on_file.repeats)
    place = f"{bench.showing.say(box.label)}"
    return [
        Repeat(each.pk, each.version, each.shown, means, each.by, each.at, place)
        for each, means in zip(on_file.repeats, told, strict=True)
    ]


def _is_reading(on_file: Filed) -> bool:
    return on_file.kind is Reading


def again_parts(request: HttpRequest, bench: Bench) -> list[Part]:
    """Return the lists of repeats under the dial's grids, which have no room beside a box."""
    found = []
    for group in bench.groups:
        if group.grid is not None:
            entries = [(box, repeat) for box in group.all_boxes for repeat in repeats(bench, box)]
            context = {"entries": entries, "bench": bench}
            inside = text_of(request, "visit/again.html", context) if entries else ""
            found.append(Part(f"again-{group.id}", inside))
    return found
