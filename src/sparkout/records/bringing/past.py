"""Readings and work of earlier visits: rows of one unit and day become one visit, marked as entered from records.

The same reading may stand in a table twice because it was taken twice. So a row is known again by what it says and by
which one of those alike it is: the second of two alike rows is there when two alike stand on file.
"""

from __future__ import annotations

import hashlib
import json
import uuid
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.interchange.drafts import infeeds
from sparkout.interchange.targets import KINDS
from sparkout.interchange.values import told_by
from sparkout.records.bringing.outcome import ADDS, SAME, Outcome, Touched, outcome, same
from sparkout.records.models import Gauge, HoursEntry, Knife, Reading, Reel, Visit, WorkDone
from sparkout.records.models.visits import OPEN, SET_ASIDE, SIGNED
from sparkout.records.operations.doing import now
from sparkout.records.operations.readings import reading_columns
from sparkout.records.tables import given
from sparkout.units import UnitProblem, parse
from sparkout.visit.checking import checked
from sparkout.visit.problems import VisitProblems
from sparkout.visit.quantities import QUANTITIES
from sparkout.visit.writing import to_json

if TYPE_CHECKING:
    import datetime
    from collections.abc import Iterable, Sequence

    from sparkout.interchange.drafts import Draft
    from sparkout.records.bringing.known import Known, UnitKey, UnitSeen
    from sparkout.records.models import Person
    from sparkout.visit.schema import Visit as VisitFile

Table = dict[str, Any]
EARLIER = "entered from earlier records; not signed here"
"""Statement of a visit that came from rows: more rows may still be added to it."""
_HEAD = ("technician", "hours", "complaint", "notes")
_READING = (
    "of",
    "gauge",
    "at",
    "blade",
    "angle",
    "which",
    "value",
    "goes",
    "does_not_go",
    "set_up",
    "temperature",
    "when",
    "time",
    "by",
    "note",
)
_WORK = ("step", "what", "infeeds", "wheel_diameter_before", "wheel_diameter_after", "took", "by", "at", "note")
_AT_ONCE = 500


@dataclass(slots=True)
class Standing:
    """What is on file of one unit on one day."""

    visits: list[Visit]
    files: list[Table]
    """Each visit's file as tables."""
    alike: Counter[bytes] = field(default_factory=Counter)

    @property
    def own(self) -> int | None:
        """Which of them came from rows, so that rows may be added."""
        return next((i for i, v in enumerate(self.visits) if v.state == SIGNED and v.statement == EARLIER), None)


@dataclass(slots=True)
class Group:
    """What a batch adds to one visit."""

    unit: UnitSeen
    day: datetime.date
    standing: Standing
    head: Table
    rows: list[tuple[int, Table]] = field(default_factory=list)
    """New readings or steps of work with the number of their draft in the batch."""
    whole: VisitFile | None = None
    text: str = ""
    """The whole visit as its file."""


class Past:
    """Rows of readings or of work."""

    def __init__(self, known: Known, actor: Person, kind: str) -> None:
        self.known, self.actor, self.kind = known, actor, kind
        self.fields = KINDS[kind]
        self.table = "readings" if kind == "reading" else "work"
        self.seen: Counter[bytes] = Counter()
        self.heads: dict[tuple[UnitKey, datetime.date], Table] = {}
        self.groups: list[Group] = []

    def skip(self, draft: Draft) -> None:
        """Count a row that was entered before the server was ended."""
        try:
            unit = self.known.unit_named(draft.entries.get("machine", ""), draft.entries["unit"])
        except Refusal:
            return
        if (row := self._row(draft.entries)) is not None:
            self.seen[_digest(unit.key, draft.entries["date"], self.table, row)] += 1

    def plan(self, sheet: str, batch: Sequence[Draft], *, trial: bool) -> list[Outcome]:  # noqa: ARG002
        """Return what each draft does; what is added waits in `groups` for `write`."""
        found: list[Outcome | None] = [None] * len(batch)
        waiting: dict[tuple[UnitKey, datetime.date], list[int]] = defaultdict(list)
        units: dict[UnitKey, UnitSeen] = {}
        for i, draft in enumerate(batch):
            try:
                unit = self.known.unit_named(draft.entries.get("machine", ""), draft.entries["unit"])
            except Refusal as refusal:
                found[i] = outcome(sheet, draft, ADDS, _label(draft)).refused(told_by(refusal))
                continue
            units[unit.key] = unit
            waiting[unit.key, draft.entries["date"]].append(i)
        standing = self._standing(units, waiting)
        self.groups = []
        for (key, day), numbers in waiting.items():
            self._group(sheet, batch, numbers, Group(units[key], day, standing[key, day], {}), found)
        return [told for told in found if told is not None]

    def _standing(
        self, units: dict[UnitKey, UnitSeen], days: Iterable[tuple[UnitKey, datetime.date]]
    ) -> dict[Any, Standing]:
        found = {where: self._planned(where) for where in days}
        wanted = {(units[key].pk, day): (key, day) for key, day in found if units[key].pk}
        pks, dates = {pk for pk, _ in wanted}, [day for _, day in wanted]
        visits = (
            Visit.objects.filter(unit__in=pks, date__gte=min(dates, default=None), date__lte=max(dates, default=None))
            if dates
            else []
        )
        for visit in visits:
            where = None if visit.date is None else wanted.get((visit.unit_id, visit.date))
            if where is not None and visit.state != SET_ASIDE:
                file = _file_of(visit)
                found[where].visits.append(visit)
                found[where].files.append(json.loads(visit.as_signed or to_json(file)))
                found[where].alike.update(_digests(where[0], where[1], self.table, file))
        return found

    def _planned(self, where: tuple[UnitKey, datetime.date]) -> Standing:
        """Return what earlier rows of a trial would have entered there as whole visits."""
        found = Standing([], [])
        for file in self.known.planned.get(where, ()):
            told = file.sign_off
            state = OPEN if told.name is None else SIGNED
            found.visits.append(Visit(state=state, signed_by=told.name, statement=told.statement))
            found.files.append(json.loads(to_json(file)))
            found.alike.update(_digests(*where, self.table, file))
        return found

    def _group(
        self, sheet: str, batch: Sequence[Draft], numbers: list[int], group: Group, found: list[Outcome | None]
    ) -> None:
        at, own = group.standing, group.standing.own
        closed = bool(at.visits) and own is None
        made = not at.visits and (group.unit.key, group.day) not in self.heads
        for i in numbers:
            draft, row = batch[i], self._row(batch[i].entries)
            what, why = SAME, ""
            if row is not None:
                digest = _digest(group.unit.key, group.day, self.table, row)
                self.seen[digest] += 1
                if self.seen[digest] > at.alike[digest]:
                    what, why = ADDS, _closed(at) if closed else ""
                    if not closed:
                        group.rows.append((i, row))
            why = why or self._headed(group, draft.entries, own)
            if (
                row is None
                and made
                and not any(told is not None and told.what == ADDS for told in map(found.__getitem__, numbers))
            ):
                what = ADDS
            found[i] = outcome(sheet, draft, what, _label(draft))
            if why:
                found[i] = found[i].refused(why)  # type: ignore[union-attr]
                group.rows = [entry for entry in group.rows if entry[0] != i]
        if group.rows or (made and any(told is not None and told.what == ADDS for told in (found[i] for i in numbers))):
            self._check(group, numbers, found)

    def _headed(self, group: Group, entries: Table, own: int | None) -> str:
        """Take what a row says about the whole visit, or return where it contradicts what stands."""
        key = (group.unit.key, group.day)
        stands = self.heads.get(key) or (
            _head_of(group.standing.files[own if own is not None else 0]) if group.standing.files else {}
        )
        for name in _HEAD:
            if name not in entries:
                continue
            was = stands.get(name, group.head.get(name))
            if was is not None and not same(self.fields.by_key[name], was, entries[name]):
                return phrase(
                    "{field}: the visit of that day says '{was}'",
                    field=phrase(self.fields.by_key[name].words),
                    was=AsTyped(str(was)),
                )
            if was is None and group.standing.visits and own is None:
                return _closed(group.standing)
            group.head[name] = entries[name]
        return ""

    def _row(self, entries: Table) -> Table | None:
        """Return the reading or the step of work in a row; None when the row is about the visit alone."""
        keys = _READING if self.kind == "reading" else _WORK
        row = {key: entries[key] for key in keys if key in entries}
        if self.kind == "work":
            if "infeeds" in row:
                row["infeeds"] = infeeds(row["infeeds"])
            return row
        return row if row.keys() & {"of", "value", "goes", "does_not_go"} else None

    def _check(self, group: Group, numbers: list[int], found: list[Outcome | None]) -> None:
        """Check the visit as a whole, as one typed by hand; rows it cannot hold are refused, the others stay."""
        for _ in range(len(group.rows) + 2):
            try:
                group.whole = self._whole(group)
                break
            except VisitProblems as problems:
                if not self._blamed(group, problems, found):
                    _refuse_all(numbers, found, str(problems))
                    return
            except Refusal as refusal:
                _refuse_all(numbers, found, told_by(refusal))
                return
        if group.whole is not None and (group.rows or not group.standing.visits):
            self.heads.setdefault((group.unit.key, group.day), {}).update(group.head)
            self.groups.append(group)

    def _blamed(self, group: Group, problems: VisitProblems, found: list[Outcome | None]) -> bool:
        """Refuse the new rows that problems name; whether there were any."""
        before = self._before(group)
        why: dict[int, list[str]] = defaultdict(list)
        for problem in problems.problems:
            name, _, rest = problem.path.partition("[")
            number = rest.partition("]")[0]
            if name == self.table and number.isdigit() and int(number) >= len(before):
                where = problem.path.partition("].")[2]
                told = phrase("{where}: {why}", where=AsTyped(where), why=problem.reason) if where else problem.reason
                why[int(number) - len(before)].append(told)
        for at, texts in why.items():
            i = group.rows[at][0]
            blamed = found[i]
            assert blamed is not None
            found[i] = blamed.refused(joined("; ", texts))
        group.rows = [row for at, row in enumerate(group.rows) if at not in why]
        return bool(why)

    def _before(self, group: Group) -> list[Table]:
        own = group.standing.own
        return list(group.standing.files[own].get(self.table, [])) if own is not None else []

    def _whole(self, group: Group) -> VisitFile:
        own = group.standing.own
        tables = dict(group.standing.files[own]) if own is not None else self._new_visit(group)
        tables[self.table] = [*self._before(group), *(row for _, row in group.rows)]
        named = {row["gauge"] for row in tables.get("readings", []) if "gauge" in row}
        have = {gauge["id"] for gauge in tables.get("gauges", [])}
        for name in sorted(named - have):
            if name not in self.known.gauges:
                raise Refusal(
                    phrase("the workshop has no gauge '{name}'; bring the gauges in first", name=AsTyped(name))
                )
            row = given(
                {
                    key: value
                    for key, value in self.known.gauges[name].items()
                    if key not in ("retired", "calibration_due", "ended_on")
                }
            )
            tables.setdefault("gauges", []).append(row)
        for name, place in (("technician", "visit"), ("notes", "visit"), ("complaint", "unit"), ("hours", "unit")):
            if name in group.head:
                tables[place] = {**tables.get(place, {}), name: group.head[name]}
        return checked(tables, lambda _: None)

    def _new_visit(self, group: Group) -> Table:
        label = self.part_then("reel", group.unit, group.day)
        if label is None:
            raise Refusal(
                phrase("{unit} holds no reel on file; bring in its reel first", unit=AsTyped(str(group.unit)))
            )
        knife = self.part_then("knife", group.unit, group.day)
        unit = {"name": group.unit.name, "machine": group.unit.machine or None, "position": group.unit.position or None}
        blade = self.known.knives[knife].spec if knife else {}
        carrier = {k.partition(".")[2]: v for k, v in group.unit.told.items() if k.startswith("carrier.")}
        signer = group.head.get("technician") or self.actor.name
        return {
            "visit": {"date": str(group.day)},
            "unit": given({**unit, "pattern": group.unit.told.get("pattern")}),
            "reel": given(self.known.reels[label].spec),
            "knife": given({**carrier, **blade}),
            "gauges": [],
            "sign_off": {"name": signer, "date": str(group.day), "statement": EARLIER},
        }

    def part_then(self, part: str, unit: UnitSeen, day: datetime.date) -> str | None:
        """Return the label of what was in a unit on a day; before anything was on file, the first that is."""
        fits = self.known.fittings_of(part, unit.key)
        then = [fit for fit in fits if fit.since <= day and (fit.until is None or day <= fit.until)]
        later = [fit for fit in fits if fit.since > day]
        chosen = then[-1:] or later[:1]
        return chosen[0].label if chosen else None

    def write(self) -> dict[int, list[Touched]]:
        """Enter what was planned last; what each draft of the batch made."""
        made: dict[int, list[Touched]] = defaultdict(list)
        visits = [self._visit(group) for group in self.groups]
        new = [visit for visit in visits if visit.pk is None]
        Visit.objects.bulk_create(new, batch_size=_AT_ONCE)
        for visit, group in zip(visits, self.groups, strict=True):
            for i, _ in group.rows[:1]:
                made[i].append(Touched(visit, None if visit in new else {"rows": "more"}))
        self._hours([(v, g) for v, g in zip(visits, self.groups, strict=True) if "hours" in g.head])
        gauges = {gauge.name: gauge for gauge in Gauge.objects.all()} if self.kind == "reading" else {}
        entries, numbers = [], []
        for visit, group in zip(visits, self.groups, strict=True):
            kept = json.loads(group.text).get(self.table, [])[len(self._before(group)) :]
            for (i, _), row in zip(group.rows, kept, strict=True):
                entries.append(self._entry(visit, row, gauges))
                numbers.append(i)
        model: Any = Reading if self.kind == "reading" else WorkDone
        for i, entry in zip(numbers, model.objects.bulk_create(entries, batch_size=_AT_ONCE), strict=True):
            made[i].append(Touched(entry))
        return made

    def _visit(self, group: Group) -> Visit:
        assert group.whole is not None
        group.text, own = to_json(group.whole), group.standing.own
        text = group.text
        if own is not None:
            visit = group.standing.visits[own]
            visit.as_signed = text
            for name in ("technician", "notes", "complaint"):
                setattr(visit, name, group.head.get(name, getattr(visit, name)))
            visit.save()
            return visit
        reel, knife = (self.part_then(part, group.unit, group.day) for part in ("reel", "knife"))
        assert reel is not None  # the check of the whole visit asked for it
        return Visit(
            unit_id=group.unit.number,
            reel_id=self._number(Reel, "reel", reel),
            knife_id=None if knife is None else self._number(Knife, "knife", knife),
            date=group.day,
            technician=group.head.get("technician"),
            complaint=group.head.get("complaint"),
            notes=group.head.get("notes"),
            state=SIGNED,
            opened_at=now(),
            opened_by=self.actor,
            signed_by=group.whole.sign_off.name,
            signed_on=group.day,
            signed_at=now(),
            statement=EARLIER,
            as_signed=text,
        )

    def _number(self, model: Any, part: str, label: str) -> int:
        seen = self.known.parts(part)[label]
        if seen.pk is None:
            seen.pk = model.objects.values_list("pk", flat=True).get(label=label)
        assert seen.pk is not None
        return seen.pk

    def _hours(self, groups: list[tuple[Visit, Group]]) -> None:
        have = set(HoursEntry.objects.filter(visit__in=[v.pk for v, _ in groups]).values_list("visit", flat=True))
        entries = [
            HoursEntry(unit_id=visit.unit_id, visit=visit, on=visit.date, hours=group.head["hours"])
            for visit, group in groups
            if visit.pk not in have
        ]
        HoursEntry.objects.bulk_create(entries, batch_size=_AT_ONCE)

    def _entry(self, visit: Visit, row: Table, gauges: dict[str, Gauge]) -> Reading | WorkDone:
        common = {"visit": visit, "key": uuid.uuid4(), "entered_by": self.actor, "entered_at": now()}
        if self.kind == "reading":
            return Reading(**common, **reading_columns(row, gauges))
        return WorkDone(**common, entry=row)


def _file_of(visit: Visit) -> VisitFile:
    from sparkout.records.queries import visit_file

    return visit_file(visit)


def _head_of(tables: Table) -> Table:
    told = {**tables.get("visit", {}), **tables.get("unit", {})}
    return {name: told[name] for name in _HEAD if name in told}


def _label(draft: Draft) -> str:
    told = draft.entries
    parts = [
        f"{told['unit']}, {told['date']}",
        str(told.get("of") or told.get("step") or ""),
        str(told.get("value", "")),
    ]
    return AsTyped(": ".join(filter(None, parts)))


def _closed(standing: Standing) -> str:
    visit = standing.visits[0]
    if visit.state == SIGNED:
        return phrase("the visit of that day was signed by {name} and is closed", name=AsTyped(visit.signed_by or "?"))
    return phrase("a visit of that day is open on the bench; enter it there")


def _refuse_all(numbers: list[int], found: list[Outcome | None], why: str) -> None:
    for i in numbers:
        told = found[i]
        if told is not None and told.what == ADDS:
            found[i] = told.refused(why)


def _digests(unit: UnitKey, day: datetime.date, table: str, file: VisitFile) -> Iterable[bytes]:
    rows = file.all_readings if table == "readings" else file.work
    for row in rows:
        yield _digest(unit, day, table, given(row.model_dump(mode="json")))


def _digest(unit: UnitKey, day: datetime.date, table: str, row: Table) -> bytes:
    """Return by what a row is known again: what it says, quantities by their size."""
    kind, bare = "length", "mm"
    if table == "readings" and row.get("of") in QUANTITIES:
        kind, bare = QUANTITIES[row["of"]].kind, QUANTITIES[row["of"]].unit
    plain: dict[str, Any] = {}
    for key, value in row.items():
        if key in ("value", "goes", "does_not_go"):
            plain[key] = _sized(value, kind, bare)
        elif key in ("at", "wheel_diameter_before", "wheel_diameter_after", "infeeds") and table in (
            "readings",
            "work",
        ):
            plain[key] = (
                [_sized(v, "length", "mm") for v in value] if isinstance(value, list) else _sized(value, "length", "mm")
            )
        elif key == "angle":
            plain[key] = _sized(value, "angle", "deg")
        elif key == "temperature":
            plain[key] = _sized(value, "temperature", "°C")
        elif key == "took":
            plain[key] = _sized(value, "time", "h")
        elif value is not None:
            plain[key] = str(value).strip().lower()
    if table == "readings":
        plain.setdefault("when", "as found")
    text = json.dumps([unit, str(day), table, plain], sort_keys=True)
    return hashlib.blake2b(text.encode(), digest_size=12).digest()


def _sized(value: Any, kind: str, unit: str) -> str:
    if isinstance(value, str) and not any(c.isdigit() for c in value):
        return value.strip().lower().replace("center", "centre").replace("middle", "centre")
    try:
        return f"{parse(value, kind, unit):.9e}"
    except UnitProblem:
        return str(value)
