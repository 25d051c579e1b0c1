"""What is on file of a unit's reel and of the grinder that grinds it, beside its diameters."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sparkout.visit.sections import GrinderSection, ReelSection


@dataclass(frozen=True, slots=True)
class ReelOnFile:
    """A reel as specified, the land it was last seen with, the workshop's limit on the land, and its grinder."""

    spec: ReelSection
    land: float | None = None
    """mm, as read last."""
    land_limit: float | None = None
    """mm, at most."""
    grinder: GrinderSection | None = None
    """That of its last visit."""
