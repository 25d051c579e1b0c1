"""The demonstration workshop's season sheet: invented hours, absences, occasions and costs, and one what-if."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from sparkout.records.operations.season import begin_what_if, draft_plan, set_in_sheet, set_sheet

if TYPE_CHECKING:
    from sparkout.records.models import Person

SHEET: Final[dict[str, Any]] = {
    "start": "2026-11-23",
    "weeks": 16,
    "interval": "200 h",
    "fresh_days": 7,
    "people": [
        {"name": "technician A", "week": [6, 0, 6, 0, 6, 0, 0], "overtime": "1 h"},
        {"name": "technician B", "week": [4, 4, 4, 0, 0, 0, 0], "skills": ["strip", "knife", "set"]},
    ],
    "grinders": [{"name": "bench grinder", "week": [6, 6, 6, 6, 6, 0, 0]}],
    "machines": [
        {"name": "greens machine 1", "spared": ["Mon", "Tue", "Wed"], "hours_a_week": "8 h", "importance": 3},
        {"name": "greens machine 2", "spared": ["Mon", "Wed", "Thu"], "hours_a_week": "6 h", "importance": 2},
        {"name": "fairway machine 1", "spared": ["Mon", "Fri"], "hours_a_week": "7 h", "interval": "290 h"},
        {"name": "outfield machine 1", "hours_a_week": "4 h", "interval": "170 h"},
    ],
    "away": [
        {"who": "technician A", "first": "2026-12-21", "last": "2027-01-03", "note": "leave (invented)"},
        {"who": "bench grinder", "first": "2027-01-18", "last": "2027-01-20", "note": "service (invented)"},
    ],
    "fresh": [
        {"at": "bowling green north", "on": "2026-12-13", "name": "winter final (invented)"},
        {"at": "nine-hole course", "on": "2027-02-07", "name": "club day (invented)"},
    ],
    "fetching": [{"place": "cricket ground", "travel": "1 h"}],
    "costs": {"hour": 32, "overtime_hour": 48, "late_day": 20, "early_day": 1.5, "wheel": 4, "sooner": 60},
    "parts": [
        {"part": "greens reel, 11 blades", "on_shelf": 1, "lead_weeks": 6, "price": 420},
        {"part": "fairway reel, 8 blades", "on_shelf": 0, "lead_weeks": 6, "price": 560},
        {"part": "outfield reel, 6 blades", "on_shelf": 0, "lead_weeks": 8, "price": 610},
        {"part": "greens knife", "on_shelf": 2, "lead_weeks": 2, "price": 70},
        {"part": "fairway knife", "on_shelf": 1, "lead_weeks": 2, "price": 85},
    ],
}
WHAT_IF: Final = "technician A works a fourth day"


def season_sheets(actor: Person) -> None:
    """Put the sheet, a first plan of it and the what-if on file."""
    set_sheet(actor=actor, tables=SHEET)
    draft_plan(actor=actor)
    begin_what_if(actor=actor, name=WHAT_IF)
    set_in_sheet(actor=actor, part="people", which=0, entry={"week": [6, 0, 6, 6, 6, 0, 0]}, what_if=WHAT_IF)
