"""What is entered on the visit page: each sent with a key of its own, so that sending twice enters once."""

from __future__ import annotations

import re
import uuid
from typing import TYPE_CHECKING, Any

from django.http import HttpResponse
from django.views.decorators.http import require_POST

from sparkout.core.errors import Refusal
from sparkout.records.models import Cell, PaperProof, Reading, Sweep
from sparkout.records.operations.doing import Conflict
from sparkout.records.operations.job import correct_paper, correct_work, record_paper, record_work
from sparkout.records.operations.readings import correct_reading, record_reading, withdraw_reading
from sparkout.records.operations.sweeps import record_cell, record_sweep, withdraw_cell
from sparkout.visit.words import Where
from sparkout.web.shell.pages import text_of
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.visit.filed import row_of
from sparkout.web.visit.grinding import standing_grind
from sparkout.web.visit.page import bench_of
from sparkout.web.visit.papers import standing_proof
from sparkout.web.visit.parts import Said, changed
from sparkout.web.visit.places import place_named
from sparkout.web.visit.typed import Typed, understood

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.web.visit.bench import Bench
    from sparkout.web.visit.places import Box, Group

_WHERE = Where("a station")
DONE, REFUSED, CONFLICT = "done", "refused", "conflict"


@somebody
@require_POST
def reading(request: HttpRequest, number: int) -> HttpResponse:
    """One box of the page."""
    bench = bench_of(request, number)
    sent = request.POST
    name = sent.get("box", "")
    if name not in bench.boxes:
        return _plainly(request, f"there is no place '{name[:60]}' on this page")
    group, box = bench.boxes[name]
    said, outcome = None, DONE
    try:
        typed = understood(sent.get("line", ""), sent.get("unit", box.unit), leaves=box.leaves)
        box = place_named(bench.boxes, box, typed.at, typed.blade)
        _enter(request, bench, group, box, typed)
    except Conflict as conflict:
        said, outcome = (
            Said(
                box.id,
                bench.showing.say(f"changed meanwhile: it now reads {conflict.theirs}"),
                sent["line"],
                conflict.theirs,
            ),
            CONFLICT,
        )
    except Refusal as refusal:
        said, outcome = Said(box.id, bench.showing.say(short(refusal)), meant=meant(refusal)), REFUSED
    if outcome == DONE and sent.get("more"):
        standing = bench_of(request, number).filed.get(box.key)
        return _kept("" if standing is None else standing.version)
    return _fresh(request, number, outcome, said)


def _kept(version: int | str = "") -> HttpResponse:
    """Say only that it is kept: more is on its way, and what changes on the page is told once, with the last."""
    return HttpResponse(headers={"Outcome": DONE, "Version": str(version)})


def _fresh(request: HttpRequest, number: int, outcome: str, said: Said | None = None) -> HttpResponse:
    """Return what is new to the page. A refusal is an answer like any other: it is told in the header `Outcome`."""
    content = changed(request, bench_of(request, number), request.POST.get("have", ""), said)
    return HttpResponse(content, headers={"Outcome": outcome})


def _plainly(request: HttpRequest, why: str) -> HttpResponse:
    content = text_of(request, "shell/plain.html", {"why": reader_of(request).showing.say(why)})
    return HttpResponse(content, headers={"Outcome": REFUSED})


def short(refusal: Refusal) -> str:
    """Return a refusal for beside its box: without the path that the box itself shows."""
    problems = getattr(refusal, "problems", None)
    if not problems:
        return str(refusal)
    told = []
    for problem in problems:
        allowed = f"; allowed: {problem.allowed} {problem.unit}".rstrip() if problem.allowed else ""
        told.append(f"{problem.text}{allowed}. {problem.suggestion}".strip())
    return " ".join(told)


def meant(refusal: Refusal) -> tuple[str, ...]:
    """Return what a refusal thinks was perhaps meant, ready to be entered instead.

    Examples
    --------
    >>> from sparkout.visit.problems import Problem, VisitProblems
    >>> text = "Did you mean 127 thou (3.2258 mm) or 127 µm (0.127 mm)?"
    >>> meant(VisitProblems([Problem("value", None, "too large", suggestion=text)]))
    ('127 thou', '127 µm')
    """
    texts = [problem.suggestion for problem in getattr(refusal, "problems", ())]
    return tuple(found for text in texts for found in re.findall(r"(?:mean | or )([-\d.]+ [^\s(?]+)", text))


def _enter(request: HttpRequest, bench: Bench, group: Group, box: Box, typed: Typed) -> None:
    """Enter, correct or take out what a box says.

    Raises
    ------
    Refusal
        When it cannot be entered.
    Conflict
        When something else is on file there than the page showed.
    """
    key, expected = _key(request), _expected(request)
    if _done_before(key, typed):
        return
    on_file = bench.filed.get(box.key)
    if on_file is not None and expected == 0 and box.id == request.POST.get("box"):
        if on_file.shown == " ".join(typed.fields.values()):
            return
        raise Conflict(box.label, on_file.shown, request.POST.get("line", ""), on_file.entry)
    if group.grid is not None:
        _enter_cell(request, bench, group, box, typed, key, expected)
        return
    actor = reader_of(request).actor
    entry: Any = None if on_file is None else on_file.entry
    version = expected or (on_file.version if on_file else 0)
    if typed.struck_out:
        if entry is not None:
            withdraw_reading(actor=actor, reading=entry, expected_version=version, key=key)
        return
    values: dict[str, Any] = {"value": None, "goes": None, "does_not_go": None, **typed.fields}
    values["gauge"] = request.POST.get("gauge") or None
    if isinstance(entry, Reading):
        correct_reading(actor=actor, reading=entry, expected_version=version, key=key, **values)
        return
    place: dict[str, Any] = {
        "at": box.at or None,
        "blade": box.blade,
        "angle": f"{box.angle} deg" if box.angle else None,
    }
    zero = "A" if group.zeroed else None
    record_reading(
        actor=actor, visit=bench.visit, key=key, of=box.of, when=box.when, set_up=zero, by=actor.name, **place, **values
    )


def _done_before(key: uuid.UUID, typed: Typed) -> bool:
    """Tell whether this very entry is on file already.

    Raises
    ------
    Refusal
        When the key came before with something else.
    """
    kept: Any = Reading.objects.filter(key=key).first() or Cell.objects.filter(key=key).first()
    if kept is None:
        return False
    told = {name: getattr(kept, name, None) for name in ("value", "goes", "does_not_go")}
    if {name: str(value) for name, value in told.items() if value is not None} != typed.fields:
        raise Refusal(f"this was sent before as '{kept}'; the first is kept")
    return True


def _enter_cell(
    request: HttpRequest, bench: Bench, group: Group, box: Box, typed: Typed, key: uuid.UUID, expected: int
) -> None:
    actor = reader_of(request).actor
    on_file = bench.filed.get(box.key)
    if typed.struck_out:
        if on_file is not None and isinstance(on_file.entry, Cell):
            withdraw_cell(actor=actor, cell=on_file.entry, expected_version=expected or on_file.version, key=key)
        return
    sweep, row, column = _place_in_sweep(bench, box) or _new_sweep(request, bench, group, box, key)
    version = expected or (on_file.version if on_file else 0)
    record_cell(
        actor=actor, sweep=sweep, row=row, column=column, value=typed.fields["value"], key=key, expected_version=version
    )


def _place_in_sweep(bench: Bench, box: Box) -> tuple[Sweep, int, int] | None:
    """Return the sweep on file that holds the place, with row and column."""
    for sweep in Sweep.objects.filter(visit=bench.visit, of=box.of, when=box.when, withdrawn_at=None).order_by("pk"):
        places = [round(_WHERE.read(typed).along(bench.length), 1) for typed in sweep.at]
        rows = [row_of(sweep.of, sweep.blades, sweep.angles, i) for i in range(sweep.rows)]
        wanted = (box.key[2], box.key[3])
        if box.key[1] in places and wanted in rows:
            return sweep, rows.index(wanted), places.index(box.key[1])
    return None


def _new_sweep(request: HttpRequest, bench: Bench, group: Group, box: Box, key: uuid.UUID) -> tuple[Sweep, int, int]:
    """Start the sweep a first value belongs to: the whole grid on one zero, or one station with a zero of its own."""
    assert group.grid is not None
    covered = {
        round(_WHERE.read(typed).along(bench.length), 1)
        for sweep in Sweep.objects.filter(visit=bench.visit, of=box.of, when=box.when, withdrawn_at=None)
        for typed in sweep.at
    }
    own_zero = request.POST.get("zero") == "place"
    row_boxes = [boxes for _, boxes in group.grid.rows]
    across = [b for b in row_boxes[0] if b.key[1] not in covered]
    if own_zero:
        across = [b for b in across if b.at == box.at]
    letter = "A" if box.when == "as found" else "B"
    rows: dict[str, Any] = {"blades": [boxes[0].blade for boxes in row_boxes]}
    if box.angle:
        rows = {"angles": [f"{boxes[0].angle} deg" for boxes in row_boxes]}
    actor = reader_of(request).actor
    sweep = record_sweep(
        actor=actor,
        visit=bench.visit,
        key=uuid.uuid5(key, "sweep"),
        of=box.of,
        gauge=request.POST.get("gauge") or None,
        at=[b.at for b in across],
        **rows,
        set_up=f"{letter} {box.at}" if own_zero else letter,
        unit=box.unit,
        values=[["-"] * len(across) for _ in row_boxes],
        when=box.when,
        by=actor.name,
    )
    names = [boxes[0].blade if not box.angle else boxes[0].angle for boxes in row_boxes]
    return sweep, names.index(box.angle or box.blade), [b.at for b in across].index(box.at)


def _key(request: HttpRequest) -> uuid.UUID:
    try:
        return uuid.UUID(request.POST.get("key", ""))
    except ValueError:
        raise Refusal("the entry carries no key of its own; load the page again") from None


def _expected(request: HttpRequest) -> int:
    typed = request.POST.get("expected", "")
    return int(typed) if typed.isdigit() and len(typed) < 9 else 0


@somebody
@require_POST
def passed(request: HttpRequest, number: int) -> HttpResponse:
    """One pass of the spin grind ticked."""
    bench = bench_of(request, number)
    actor, sent = reader_of(request).actor, request.POST
    outcome = DONE
    try:
        key, pass_number = _key(request), int(sent.get("pass", "0") if sent.get("pass", "").isdigit() else 0)
        work = standing_grind(bench)
        done = [] if work is None else list(work.entry.get("infeeds", ()))
        if pass_number == len(done) + 1:  # a pass ticked before is not ticked again
            if work is None:
                record_work(
                    actor=actor,
                    visit=bench.visit,
                    key=key,
                    step="spin grind",
                    what="pass by pass",
                    infeeds=[sent.get("infeed", "")],
                    by=actor.name,
                )
            else:
                correct_work(
                    actor=actor,
                    work=work,
                    expected_version=work.version,
                    key=key,
                    infeeds=[*done, sent.get("infeed", "")],
                )
    except Conflict:
        outcome = CONFLICT
    except Refusal as refusal:
        return _plainly(request, short(refusal))
    if outcome == DONE and sent.get("more"):
        return _kept()
    return _fresh(request, number, outcome)


@somebody
@require_POST
def paper(request: HttpRequest, number: int) -> HttpResponse:
    """A paper proof as it stands after a tap."""
    bench = bench_of(request, number)
    actor, sent = reader_of(request).actor, request.POST
    when = "as found" if sent.get("when") == "as found" else "as left"
    outcome = DONE
    table = {
        "stations": sent.get("stations", "").split("|"),
        "rows": sent.get("rows", "").split(),
        "thickness": sent.get("thickness") or None,
        "direction": "square to the knife",
    }
    try:
        on_file = standing_proof(bench, when)
        before = PaperProof.objects.filter(key=_key(request)).first()
        if before is not None:
            made = before  # the same tap, sent again because its answer was lost
        elif on_file is None:
            made = record_paper(actor=actor, visit=bench.visit, key=_key(request), when=when, by=actor.name, **table)
        else:
            made = correct_paper(
                actor=actor,
                paper=on_file,
                expected_version=_expected(request) or on_file.version,
                key=_key(request),
                **table,
            )
    except Conflict:
        outcome = CONFLICT
    except Refusal as refusal:
        return _plainly(request, short(refusal))
    else:
        if sent.get("more"):
            return _kept(made.version)
    return _fresh(request, number, outcome)
