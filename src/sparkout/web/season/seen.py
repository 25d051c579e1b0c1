"""What the season's pages show: forecast, work and kept plan, worked out once for each state of the records."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from sparkout.records.operations.doing import today
from sparkout.records.season import kept_plan, plan_shown, sheet_now
from sparkout.records.stamp import stamp
from sparkout.records.units_now import units_now
from sparkout.season.now import season_now

if TYPE_CHECKING:
    import datetime
    from collections.abc import Callable, Hashable

    from sparkout.records.models import SeasonPlan
    from sparkout.records.units_now import UnitsOnFile
    from sparkout.season.now import SeasonNow, SeasonPlanned

Made = TypeVar("Made")
_MOST_KEPT = 60
_lock = threading.Lock()
_made: OrderedDict[Hashable, Any] = OrderedDict()


@dataclass(frozen=True, slots=True)
class Seen:
    """The season as it stands."""

    units: UnitsOnFile
    now: SeasonNow
    kept: SeasonPlan | None
    """The plan that holds, as it was made."""
    plan: SeasonPlanned | None
    """The same as it stands today; None without a plan or without work."""

    @property
    def today(self) -> datetime.date:
        """The day it is seen."""
        return self.now.today


def seen_now(what_if: str = "") -> Seen:
    """Return the season as it stands, or as a what-if has it."""
    return made_once(("seen", what_if), lambda: _seen(what_if))


def units_seen() -> UnitsOnFile:
    """Return the units as they stand, with the figures that are kept."""
    return made_once(("units",), lambda: units_now(seconds=0.0))


def _seen(what_if: str) -> Seen:
    units = units_seen()
    now = season_now(sheet_now(what_if), units.units, today())
    kept = kept_plan(what_if)
    return Seen(units, now, kept, plan_shown(now, units, kept))


def made_once(name: tuple[Hashable, ...], make: Callable[[], Made]) -> Made:
    """Return what was made under this name since the records were last written to, else make it."""
    key = (stamp(), today(), *name)
    with _lock:
        if key in _made:
            _made.move_to_end(key)
            made: Made = _made[key]
            return made
    made = make()
    with _lock:
        _made[key] = made
        while len(_made) > _MOST_KEPT:
            _made.popitem(last=False)
    return made
