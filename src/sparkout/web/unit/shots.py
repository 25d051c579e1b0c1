"""Photographs and recordings as a page shows them: a small picture or a player, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.utils.timezone import localdate

from sparkout.core.days import dated
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.keeping.photographs import SMALL
from sparkout.records.models.attachments import PHOTOGRAPH

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sparkout.records.models import Attachment
    from sparkout.showing import Showing


@dataclass(frozen=True, slots=True)
class Shot:
    """One photograph or recording; one taken away has only its line."""

    attached: Attachment
    named: str
    """What it shows, as alternative text and as the name of its player."""
    told: str
    """Blade, step, day, length."""
    gone: str = ""
    width: int = 0
    height: int = 0

    @property
    def is_picture(self) -> bool:
        """Whether it is a photograph."""
        return self.attached.kind == PHOTOGRAPH


def shots(attachments: Iterable[Attachment], showing: Showing) -> list[Shot]:
    """Return what is shown of attachments."""
    return [shot(attached, showing) for attached in attachments]


def shot(attached: Attachment, showing: Showing) -> Shot:
    """Return what is shown of one attachment."""
    gone = "" if attached.removed_at is None else showing.say(_gone(attached))
    longest = max(attached.width or 1, attached.height or 1)
    scale = min(1.0, SMALL / longest)
    size = round((attached.width or 1) * scale), round((attached.height or 1) * scale)
    return Shot(attached, showing.say(_named(attached)), showing.say(_told(attached, showing)), gone, *size)


def _named(attached: Attachment) -> str:
    if attached.note:
        return AsTyped(attached.note)
    return joined(" ", [phrase(attached.kind), AsTyped(attached.name)])


def _told(attached: Attachment, showing: Showing) -> str:
    parts: list[str] = []
    if attached.blade is not None:
        parts.append(phrase("blade {blade}", blade=attached.blade))
    if attached.step:
        parts.append(phrase(attached.step))
    if attached.seconds is not None:
        parts.append(AsTyped(showing.duration(attached.seconds)))
    if attached.taken_on is not None:
        parts.append(phrase("taken {day}", day=dated(attached.taken_on)))
    else:
        parts.append(phrase("added {day}", day=dated(localdate(attached.added_at))))
    return joined(", ", parts)


def _gone(attached: Attachment) -> str:
    assert attached.removed_at is not None
    return phrase(
        "{what} taken away by {who} on {day}: {why}",
        what=phrase(attached.kind),
        who=AsTyped(str(attached.removed_by)),
        day=dated(localdate(attached.removed_at)),
        why=AsTyped(attached.removed_why or ""),
    )
