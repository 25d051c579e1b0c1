"""The trial of a file and its entering: the same plan, once told and once done, batch by batch."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING, Any

from django.db import connection

from sparkout.core.errors import Refusal
from sparkout.core.phrase import counted, joined, phrase
from sparkout.interchange.drafts import Draft, NotRead, drafts
from sparkout.interchange.mapping import FileMapping
from sparkout.interchange.values import told_by
from sparkout.records.bringing.files import VisitFiles
from sparkout.records.bringing.known import Known
from sparkout.records.bringing.outcome import ADDS, CHANGES, LEFT, REFUSED, Outcome, Touched, outcome
from sparkout.records.bringing.past import Past
from sparkout.records.bringing.season import SeasonSheets
from sparkout.records.bringing.store import ENTERING, TRIAL, Outcomes, source_of
from sparkout.records.bringing.things import (
    Calibrations,
    Gauges,
    Grinders,
    KnifeTypes,
    Knives,
    Limits,
    Machines,
    People,
    Places,
    Reels,
    ReelTypes,
    Thing,
)
from sparkout.records.bringing.turf import Events, Hours
from sparkout.records.bringing.units import Fittings, Units
from sparkout.records.jobs import Progress, work
from sparkout.records.models import HistoryLine, Job, TableFile, TableRow
from sparkout.records.operations.doing import asking, one_transaction

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sparkout.interchange.mapping import SheetMapping
    from sparkout.interchange.source import Source
    from sparkout.records.models import Person

_BATCH = 400
_THINGS: dict[str, type[Thing]] = {
    kind.kind: kind
    for kind in (
        Places,
        People,
        Machines,
        ReelTypes,
        KnifeTypes,
        Calibrations,
        Gauges,
        Calibrations,
        Grinders,
        Limits,
        Units,
        Reels,
        Knives,
        Fittings,
    )
}


class Run:
    """One pass over a file's rows."""

    def __init__(self, file: TableFile, actor: Person, *, trial: bool) -> None:
        self.file, self.actor, self.trial = file, actor, trial
        self.mapping = FileMapping.from_data(file.mapping or {})
        self.mapping.check()
        self.source: Source = source_of(file)
        self.known = Known()
        self.counts: Counter[str] = Counter()
        self.last_line = 0
        self.makers: dict[str, Any] = {}
        self.origins: list[tuple[Any, ...]] = []
        """Where the records of the batch being entered come from."""

    def maker(self, kind: str) -> Any:
        """Return what plans and enters rows of a kind."""
        if kind not in self.makers:
            made: Any
            if kind in _THINGS:
                made = _THINGS[kind](self.known, self.actor)
            elif kind in ("reading", "work"):
                made = Past(self.known, self.actor, kind)
            elif kind == "visit file":
                made = VisitFiles(self.known, self.actor, trial=self.trial)
            elif kind == "season sheet":
                made = SeasonSheets(self.actor)
            else:
                made = {"hours": Hours, "event": Events}[kind](self.known, self.actor)
            self.makers[kind] = made
        return self.makers[kind]

    def lengths(self) -> list[int]:
        """Return the last row number of each sheet taken in."""
        return [max((number for number, _ in self.source.sheet(s.name).rows()), default=0) for s in self.mapping.used]

    def batches(self, sheet: SheetMapping, after: int = 0) -> Iterator[tuple[int, list[Draft | NotRead]]]:
        """Yield each batch with its last row; rows of one unit and day that stand together stay together."""
        batch: list[Draft | NotRead] = []
        for _, group in groupby(drafts(sheet, self.source.sheet(sheet.name)), key=_together):
            for draft in group:
                if draft.row > after:
                    batch.append(draft)
                elif isinstance(draft, Draft) and sheet.kind in ("reading", "work"):
                    self.maker(sheet.kind).skip(draft)
            if len(batch) >= _BATCH:
                yield batch[-1].row, batch
                batch = []
        if batch:
            yield batch[-1].row, batch

    def planned(self, sheet: SheetMapping, batch: list[Draft | NotRead]) -> list[Outcome]:
        """Return what each draft of a batch does, entering one-by-one kinds as they come."""
        maker = self.maker(sheet.kind)
        told: dict[int, Outcome] = {
            i: outcome(sheet.name, d, REFUSED, "", d.why) for i, d in enumerate(batch) if isinstance(d, NotRead)
        }
        good = [(i, d) for i, d in enumerate(batch) if isinstance(d, Draft)]
        if isinstance(maker, Thing | VisitFiles | SeasonSheets):
            for i, draft in good:
                found = maker.plan(sheet.name, draft)
                told[i] = found if self.trial else self._done(found, maker, draft)
        elif good:
            found = maker.plan(sheet.name, [d for _, d in good], trial=self.trial)
            told |= {i: one for (i, _), one in zip(good, found, strict=True)}
            if not self.trial:
                self._write(maker, [i for i, _ in good], told)
        return [told[i] for i in range(len(batch))]

    def _done(self, found: Outcome, maker: Any, draft: Draft) -> Outcome:
        if found.what == CHANGES and not self.file.with_changes:
            return replace(found, what=LEFT, act=None)
        if found.act is None:
            return found
        try:
            self._touched(found, found.act())
        except Refusal as refusal:
            self.known.forget()  # what was remembered as added was not
            return found.refused(told_by(refusal))
        if found.what == CHANGES:
            maker.changes_hold(draft.entries)
        return found

    def _write(self, maker: Any, numbers: list[int], told: dict[int, Outcome]) -> None:
        """Enter what a batch adds at once, then its changes."""
        adding = [i for i in numbers if told[i].what == ADDS]
        made = maker.write()
        if isinstance(made, dict):
            for at, touched in made.items():
                self._touched(told[numbers[at]], touched)
        else:
            for i, touched in zip(adding, made, strict=True):
                self._touched(told[i], [touched])
        for i in numbers:
            if told[i].what == CHANGES and not self.file.with_changes:
                told[i] = replace(told[i], what=LEFT, act=None)
            elif (act := told[i].act) is not None:
                self._touched(told[i], act())

    def _touched(self, told: Outcome, touched: list[Touched]) -> None:
        for one in touched:
            what = TableRow.ADDED if one.before is None else TableRow.CHANGED
            subject = one.record._meta.model_name or ""
            content = [
                None if c is None else json.dumps(_plain(c), ensure_ascii=False) for c in (one.before, one.after)
            ]
            self.origins.append((self.file.pk, told.sheet[:100], told.row, what, subject, one.record.pk, *content))

    def _write_origins(self) -> None:
        """Write where the records of the batch came from, by the driver itself: one such row for each record."""
        if self.origins:
            columns = ("file_id", "sheet", "row", "what", "subject", "subject_id", "before", "after")
            names = ", ".join(connection.ops.quote_name(column) for column in columns)
            marks = ", ".join(["%s"] * len(columns))
            table = connection.ops.quote_name(TableRow._meta.db_table)
            with connection.cursor() as cursor:
                cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({marks})", self.origins)

    def enter(
        self, sheet: SheetMapping, batch: list[Draft | NotRead], progress: Progress, done: int, outcomes: Outcomes
    ) -> None:
        """Enter one batch: what its rows make, where they came from, and how far the work is, all or nothing.

        What came of the rows is written down just before it holds: lines too many are dropped when the work is taken
        up again, lines too few could not be made up.
        """
        self.origins = []
        with one_transaction():
            self._look_again()
            found = self.planned(sheet, batch)
            self._write_origins()
            progress.tell(done, at_once=True)
            outcomes.add(found)

    def _look_again(self) -> None:
        """Read names again when somebody else wrote meanwhile: every operation leaves a line."""
        last = HistoryLine.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
        if last != self.last_line:
            self.known.forget()
            self.last_line = last


def _together(draft: Draft | NotRead) -> Any:
    if isinstance(draft, NotRead) or "date" not in draft.entries:
        return draft.row
    return str(draft.entries.get("machine")), str(draft.entries.get("unit")), str(draft.entries["date"])


def _plain(content: Any) -> Any:
    match content:
        case None | bool() | int() | float() | str():
            return content
        case dict():
            return {str(key): _plain(value) for key, value in content.items()}
        case list() | tuple():
            return [_plain(value) for value in content]
        case _:
            return str(content)


def _file_of(progress: Progress) -> TableFile:
    assert progress.job.about is not None
    return TableFile.objects.get(pk=progress.job.about)


@work("table trial", again=True)
def trial(progress: Progress) -> dict[str, int]:
    """Tell what every row would do; nothing is written but that."""
    file = _file_of(progress)
    run, outcomes = Run(file, progress.job.asked_by, trial=True), Outcomes(file, TRIAL)
    outcomes.clear()
    lengths = run.lengths()
    base = 0
    for sheet, length in zip(run.mapping.used, lengths, strict=True):
        for row, batch in run.batches(sheet):
            found = run.planned(sheet, batch)
            outcomes.add(found)
            run.counts.update(told.what for told in found)
            progress.tell(base + row, sum(lengths))
        base += length
    progress.tell(base, base, at_once=True)
    return dict(run.counts)


@work("table entering", again=True)
def entering(progress: Progress) -> dict[str, int]:
    """Enter the rows; taken up again after a killed server behind the last whole batch."""
    file = _file_of(progress)
    run, outcomes = Run(file, progress.job.asked_by, trial=False), Outcomes(file, ENTERING)
    lengths, before = run.lengths(), progress.job.done
    starts = dict(zip([s.name for s in run.mapping.used], _sums(lengths), strict=True))
    outcomes.keep_up_to(lambda told: starts[told.sheet] + told.row <= before)
    for sheet in run.mapping.used:
        base = starts[sheet.name]
        for row, batch in run.batches(sheet, after=before - base):
            run.enter(sheet, batch, progress, base + row, outcomes)
            progress.tell(base + row, sum(lengths))
    progress.tell(sum(lengths), sum(lengths), at_once=True)
    counts = outcomes.counts()
    with one_transaction():
        asking("bring_in_table", progress.job.asked_by, None).note(file, after={"counts": counts, "rows of": file.name})
    return counts


def _sums(lengths: list[int]) -> list[int]:
    found, total = [], 0
    for length in lengths:
        found.append(total)
        total += length
    return found


def in_words(counts: dict[str, int]) -> str:
    """Return counts in words, as '12 added, 3 refused'."""
    told = [
        counted(counts.get("adds", 0), "{n} row adds", "{n} rows add"),
        counted(counts.get("changes", 0), "{n} changes", "{n} change"),
        counted(counts.get("same", 0), "{n} is there already", "{n} are there already"),
        counted(counts.get("refused", 0), "{n} refused", "{n} refused"),
    ]
    if counts.get("left"):
        told.append(phrase("{n} left as it was", n=counts["left"]))
    return joined(", ", told)


def jobs_of(file: TableFile) -> list[Job]:
    """Return the trial and the entering of a file, as far as asked for."""
    return [job for job in (file.trial, file.entering) if job is not None]
