"""The boxes of one group as the page shows them: filled in anew only where something in them has changed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.web.shell.pages import remembered

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sparkout.web.visit.bench import Bench
    from sparkout.web.visit.part import Part
    from sparkout.web.visit.places import Box, Group


@dataclass(frozen=True, slots=True)
class BoxShown:
    """One box: what is in it, whether it is read next, and what stands beside it."""

    box: Box
    shown: str
    next: bool
    told: str


def group_shown(bench: Bench, group: Group, parts: Mapping[str, Part], gauges: Mapping[str, str]) -> str:
    """Return a group of boxes with its gauge and its zero; nothing when there is no box."""
    if not group.all_boxes:
        return ""
    fitting = [name for name, kind in gauges.items() if kind in group.kinds]
    used = [_gauge_of(bench, box) for box in group.all_boxes]
    now = next((name for name in used if name), fitting[0] if fitting else "")
    rows = () if group.grid is None else group.grid.rows
    unit = bench.unit_of(group)
    return remembered(
        "visit/group.html",
        bench.showing,
        group=group,
        visit=bench.visit.pk,
        off="" if bench.visit.is_open else " disabled",
        five=bench.five,
        heads=tuple((box.at, box.key[1]) for box in rows[0][1]) if rows else (),
        unit=unit,
        gauges=(*([now] if now and now not in fitting else ()), *fitting),
        gauge_now=now,
        rows=tuple((name, _boxes(bench, row, parts, unit)) for name, row in rows),
        cells=_boxes(bench, group.boxes, parts),
        why=next((box.id for box in group.all_boxes if box.key in bench.filed), next(iter(bench.boxes))),
        again=parts[f"again-{group.id}"].html() if group.grid is not None else "",
    )


def _gauge_of(bench: Bench, box: Box) -> str:
    on_file = bench.filed.get(box.key)
    return "" if on_file is None else on_file.gauge


def _boxes(bench: Bench, boxes: Iterable[Box], parts: Mapping[str, Part], unit: str = "") -> tuple[BoxShown, ...]:
    """Return the boxes of a row; `unit` stands in the head above them."""
    following = set(bench.next_boxes)
    return tuple(
        BoxShown(
            box,
            bench.filed[box.key].beside(unit) if box.key in bench.filed else "",
            box in following,
            parts[f"told-{box.id}"].html(),
        )
        for box in boxes
    )
