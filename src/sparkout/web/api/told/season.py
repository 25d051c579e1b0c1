"""The season as the API tells it: sheets and plans on file."""

from __future__ import annotations

import datetime
from typing import Any

from ninja import Schema

from sparkout.season.as_data import placed_data
from sparkout.season.placing import from_data
from sparkout.web.api.told.parts import Named

Moment = datetime.datetime


class KeptSheetTold(Schema):
    """The season sheet as it was kept at an edit; with a name it is a what-if."""

    id: int
    what_if: str
    tables: Any
    made_by: Named
    made_at: Moment
    ended_at: Moment | None


class SeasonPlanTold(Schema):
    """A plan as it was made; no plan of that sheet on that day can cost less than `bound`."""

    id: int
    what_if: str
    sheet: int
    on: datetime.date
    cost: float
    bound: float
    gap: float
    seconds: float
    made_by: Named
    made_at: Moment
    kept_at: Moment | None
    ended_at: Moment | None
    jobs: list[Any]

    @staticmethod
    def resolve_what_if(obj: Any) -> str:
        """Return the name of the what-if."""
        return str(obj.sheet.what_if)

    @staticmethod
    def resolve_sheet(obj: Any) -> int:
        """Return the sheet it was made of."""
        return int(obj.sheet_id)

    @staticmethod
    def resolve_jobs(obj: Any) -> list[Any]:
        """Return its jobs."""
        return [placed_data(from_data(one)) for one in obj.placements]


def plan_told(plan: Any) -> dict[str, Any]:
    """Return a plan as plain data."""
    return SeasonPlanTold.model_validate(plan).model_dump(mode="json")
