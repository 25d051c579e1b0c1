"""The job as it is done: work, paper proofs, the plan kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import Table, checked_row, checked_table, refuse
from sparkout.records.models import KeptPlan, PaperProof, WorkDone
from sparkout.records.operations.doing import Key, asking, now, operation
from sparkout.records.operations.entries import expected_current, made_entry, of_visit, withdrawn
from sparkout.records.operations.visits import still_open
from sparkout.records.tables import given, reel_table

if TYPE_CHECKING:
    from sparkout.records.models import Person, Visit

Row = TypeVar("Row", WorkDone, PaperProof)
CHOICES = ("wanted", "grinder")


@operation
def record_work(*, actor: Person, visit: Visit, key: Key, **work: Any) -> WorkDone:
    """Record a step of work: entries of [[work]]. The same key records once.

    Raises
    ------
    Refusal
        When the visit is closed, an entry is wrong, or the key came before with something else.
    """
    return _record(WorkDone, "work", "record_work", actor, visit, key, work)


@operation
def correct_work(*, actor: Person, work: WorkDone, expected_version: int, key: Key, **changes: Any) -> WorkDone:
    """Correct a step of work, as `correct_reading`.

    Raises
    ------
    Conflict
        When it was corrected or withdrawn meanwhile.
    """
    return _correct(WorkDone, "work", "correct_work", actor, work, expected_version, key, changes)


@operation
def withdraw_work(*, actor: Person, work: WorkDone, expected_version: int, key: Key = None) -> WorkDone:
    """Withdraw a step of work; it stays on file.

    Raises
    ------
    Conflict
        When it was corrected or withdrawn meanwhile.
    """
    return _withdraw(WorkDone, "withdraw_work", actor, work, expected_version, key)


@operation
def record_paper(*, actor: Person, visit: Visit, key: Key, **paper: Any) -> PaperProof:
    """Record a paper proof: entries of [[paper]]. The same key records once.

    Raises
    ------
    Refusal
        When the visit is closed, an entry is wrong, or the key came before with something else.
    """
    return _record(PaperProof, "paper", "record_paper", actor, visit, key, paper)


@operation
def correct_paper(*, actor: Person, proof: PaperProof, expected_version: int, key: Key, **changes: Any) -> PaperProof:
    """Correct a paper proof, as `correct_reading`.

    Raises
    ------
    Conflict
        When it was corrected or withdrawn meanwhile.
    """
    return _correct(PaperProof, "paper", "correct_paper", actor, proof, expected_version, key, changes)


@operation
def withdraw_paper(*, actor: Person, proof: PaperProof, expected_version: int, key: Key = None) -> PaperProof:
    """Withdraw a paper proof; it stays on file.

    Raises
    ------
    Conflict
        When it was corrected or withdrawn meanwhile.
    """
    return _withdraw(PaperProof, "withdraw_paper", actor, proof, expected_version, key)


def _record(kind: type[Row], table: str, action: str, actor: Person, visit: Visit, key: Key, entry: Table) -> Row:
    words = str(entry.get("step") or entry.get("when") or table)
    ask = asking(action, actor, key, words, visit=visit, entry=given(entry))
    if (done := ask.answered(kind)) is not None:
        return done
    held = still_open(visit.pk)
    row = checked_row(table, entry, {"reel": reel_table(held)})
    made = made_entry(kind, ask, of_visit(row, held))
    ask.note(made, visit=held, after=row)
    return made


def _correct(
    kind: type[Row],
    table: str,
    action: str,
    actor: Person,
    entry: Row,
    expected_version: int,
    key: Key,
    changes: Table,
) -> Row:
    words = ", ".join(str(value) for value in changes.values())
    ask = asking(action, actor, key, words, entry=entry, changes=changes)
    if (done := ask.answered(kind)) is not None:
        return done
    held = still_open(entry.visit_id)
    old = expected_current(kind, entry, expected_version, words)
    row = checked_row(table, {**old.entry, **changes}, {"reel": reel_table(held)})
    made = made_entry(kind, ask, of_visit(row, held), old)
    ask.note(made, visit=held, before=old.entry, after=row)
    return made


def _withdraw(kind: type[Row], action: str, actor: Person, entry: Row, expected_version: int, key: Key) -> Row:
    ask = asking(action, actor, key, "withdrawn", entry=entry)
    if (done := ask.answered(kind)) is not None:
        return done
    held = still_open(entry.visit_id)
    old = withdrawn(expected_current(kind, entry, expected_version, "withdrawn"), actor)
    ask.note(old, visit=held, before=old.entry)
    return old


def checked_choices(choices: Table) -> dict[str, Table]:
    """Return choices for a plan as they will be kept: entries of [wanted] and of [grinder].

    Raises
    ------
    Refusal
        When an entry is wrong, or belongs to neither.
    """
    strange = [name for name in choices if name not in CHOICES]
    if strange:
        raise refuse(strange[0], phrase("a plan has no '{key}'", key=AsTyped(strange[0])), allowed=", ".join(CHOICES))
    return {name: checked_table(name, table) for name, table in choices.items()}


@operation
def keep_plan(*, actor: Person, visit: Visit, choices: dict[str, Table], key: Key = None) -> KeptPlan:
    """Keep choices, {"wanted": {...}, "grinder": {...}}, as the plan; the last kept holds, {} goes back to the file.

    Raises
    ------
    Refusal
        When the visit is closed or an entry is wrong.
    """
    ask = asking("keep_plan", actor, key, "a plan", visit=visit, choices=choices)
    if (done := ask.answered(KeptPlan)) is not None:
        return done
    held = still_open(visit.pk)
    before = held.plans.order_by("-pk").first()
    kept = checked_choices(choices)
    plan = KeptPlan.objects.create(visit=held, choices=kept, kept_by=actor, kept_at=now())
    ask.note(plan, visit=held, before=before and before.choices, after=kept)
    return plan
