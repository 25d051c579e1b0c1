"""Whole visits that travel as visit files in an export: entered once, signed ones as signed, nothing lost."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.interchange.values import told_by
from sparkout.records.bringing.outcome import ADDS, SAME, Outcome, Touched, outcome
from sparkout.records.exchange import enter_file
from sparkout.records.models import Grinder, Knife, Reel, Unit, Visit
from sparkout.records.models.visits import OPEN, SET_ASIDE, SIGNED
from sparkout.records.operations.doing import history_gathered
from sparkout.visit.reading import read_visit
from sparkout.visit.writing import to_json

if TYPE_CHECKING:
    from sparkout.interchange.drafts import Draft
    from sparkout.records.bringing.known import Known, UnitSeen
    from sparkout.records.models import Person
    from sparkout.visit.schema import Visit as VisitFile

_NAMES = uuid.UUID("8e0b2f6a-51c4-4a55-9b4e-0f0c9f3d7a11")


def file_key(text: str) -> str:
    """Return by what a visit file is known again: made from its content."""
    return str(uuid.uuid5(_NAMES, text))


def text_of(visit: Visit) -> str:
    """Return a visit as its file: as it was signed, else as it stands."""
    from sparkout.records.queries import visit_file

    return visit.as_signed if visit.as_signed is not None else to_json(visit_file(visit))


class VisitFiles:
    """Rows that hold a whole visit."""

    def __init__(self, known: Known, actor: Person, *, trial: bool) -> None:
        self.known, self.actor, self.trial = known, actor, trial
        self.keys: dict[int, dict[str, int]] = {}
        """Of each unit looked at: the files of its visits, with the visit's number."""
        self.added: set[tuple[Any, str]] = set()

    def plan(self, sheet: str, draft: Draft) -> Outcome:
        """Return what the draft does."""
        told = draft.entries
        label = AsTyped(f"{told['unit']}, {told.get('date', '')}")
        try:
            seen = self.known.unit_named(told.get("machine", ""), told["unit"])
            visit = read_visit("".join(told.get(f"file.{n}", "") for n in range(1, 33)))
            key = file_key(to_json(visit))
            if key in self._keys(seen) or (seen.key, key) in self.added:
                return outcome(sheet, draft, SAME, label)
            state = told.get("state") or (SIGNED if visit.sign_off.name is not None else OPEN)
            if state == OPEN and seen.pk and Visit.objects.filter(unit=seen.pk, state=OPEN).exists():
                raise Refusal(phrase("this unit has an open visit already"))
            for part in ("reel", "knife"):
                if told.get(part) and told[part] not in self.known.parts(part):
                    raise Refusal(phrase("there is no {part} '{label}'", part=phrase(part), label=AsTyped(told[part])))
            if not told.get("reel") and self.known.fitted("reel", seen.key) is None:
                raise Refusal(phrase("{unit} holds no reel on file; bring in its reel first", unit=AsTyped(str(seen))))
            self.added.add((seen.key, key))
            if self.trial and visit.visit.date is not None and state != SET_ASIDE:
                self.known.planned.setdefault((seen.key, visit.visit.date), []).append(visit)
            return outcome(sheet, draft, ADDS, label, "", lambda: self._enter(visit, told, seen, state))
        except Refusal as refusal:
            return outcome(sheet, draft, ADDS, label).refused(told_by(refusal))

    def _keys(self, seen: UnitSeen) -> dict[str, int]:
        if seen.pk is None:
            return {}
        if seen.pk not in self.keys:
            self.keys[seen.pk] = {file_key(text_of(v)): v.pk for v in Visit.objects.filter(unit=seen.pk)}
        return self.keys[seen.pk]

    def _enter(self, visit: VisitFile, told: dict[str, Any], seen: UnitSeen, state: str) -> list[Touched]:
        unit = Unit.objects.get(pk=self.known.units[seen.key].number)
        labels = {
            part: told.get(part) or getattr(self.known.fitted(part, seen.key), "label", None)
            for part in ("reel", "knife")
        }
        standing: dict[str, Any] = {
            "reel": Reel.objects.get(label=labels["reel"]),
            "knife": Knife.objects.filter(label=labels["knife"]).first() if labels["knife"] else None,
            "grinder": Grinder.objects.filter(name=visit.grinder.name or "").first(),
        }
        if told.get("corrects"):
            number = next((keys[told["corrects"]] for keys in [self._keys(seen)] if told["corrects"] in keys), None)
            standing["corrects"] = None if number is None else Visit.objects.get(pk=number)
        with history_gathered() as lines:
            made = enter_file(visit, self.actor, unit, standing)
        if state == SET_ASIDE:
            made.state = SET_ASIDE
            made.save()
        self._keys(seen)[file_key(to_json(visit))] = made.pk
        gauges = [Touched(_gauge(line.subject_id), None, line.after) for line in lines if line.subject == "gauge"]
        return [*gauges, Touched(made)]


def _gauge(pk: int) -> Any:
    from sparkout.records.models import Gauge

    return Gauge(pk=pk)
