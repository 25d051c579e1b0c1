"""The board with 2,000 units and a search over 20,000 records, against a bare Django page of the same process.

The bare page is one query and one small template behind the same middleware. The board's lines are of a page looked at
again while nothing was written; the first after something was written stands apart. Runs in a process of its own,
because Django is set up once in a process: `lines` starts it and reads what it timed.
"""

from __future__ import annotations

import datetime
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from bench.served import BARE, BARE_PAGE, served, write_something  # noqa: E402 - only now can they be found
from bench.timing import Line, Timed, in_turn, table  # noqa: E402 - only now can they be found

UNITS, A_MACHINE, ROUNDS = 2_000, 5, 40
FIRST = "board, first time after something was written (with the writing)"
ASKED = {
    "board, 2,000 units": "/",
    "board, its last page": "/?page=67",
    "board, found by a word": "/?q=unit+17",
    "board, what is next": "/?next=measure+reel",
    "search, 20,000 records, many hold it": "/search/?q=unit",
    "search, 20,000 records, none holds it": "/search/?q=zebra+crossing",
}


def _fill() -> None:
    """Add units, machines, parts, clocks, visits and history to the demonstration workshop."""
    from django.utils import timezone

    from sparkout.records import models as m

    now, today = timezone.now(), datetime.date(2026, 11, 20)
    place, me = m.Place.objects.all()[0], m.Person.objects.all()[0]
    kind = m.ReelType.objects.all()[0]
    machines = m.Machine.objects.bulk_create(
        m.Machine(name=f"machine {i}", place=place) for i in range(UNITS // A_MACHINE)
    )
    places = m.Position.objects.bulk_create(
        m.Position(machine=machines[i // A_MACHINE], name=f"position {i % A_MACHINE}") for i in range(UNITS)
    )
    units = m.Unit.objects.bulk_create(m.Unit(name=f"unit {i}", position=at) for i, at in enumerate(places))
    reels = m.Reel.objects.bulk_create(m.Reel(type=kind, label=f"reel of unit {i}") for i in range(UNITS))
    m.Fitting.objects.bulk_create(m.Fitting(unit=u, reel=r, since=today) for u, r in zip(units, reels, strict=True))
    visits = m.Visit.objects.bulk_create(
        m.Visit(
            unit=unit, reel=reel, date=today, opened_at=now, opened_by=me, complaint=f"misses {i}",
            **({} if i % 20 == 0 else {"state": "signed", "as_signed": "{}", "signed_on": today, "signed_at": now}),
        )
        for i, (unit, reel) in enumerate(zip(units, reels, strict=True))
    )  # fmt: skip
    clocks = [m.HoursEntry(unit=v.unit, visit=v, on=today, hours=f"{100 + i % 900} h") for i, v in enumerate(visits)]
    clocks += [m.HoursEntry(unit=u, on=today, hours=f"{120 + i % 900} h") for i, u in enumerate(units)]
    m.HoursEntry.objects.bulk_create(clocks)
    m.HistoryLine.objects.bulk_create(
        m.HistoryLine(at=now, who=me, action="add_unit", subject="unit", subject_id=u.pk, label=f"{u.name}, line {i}")
        for i in range(5)
        for u in units
    )


def _after_writing(client: Any, address: str) -> Callable[[], None]:
    """Ask after something was written: nothing that was kept stands any more."""

    def asked() -> None:
        write_something()
        assert client.get(address).status_code == 200

    return asked


def _get(client: Any, address: str) -> Callable[[], None]:
    def asked() -> None:
        assert client.get(address).status_code == 200

    return asked


def _timed(rounds: int) -> dict[str, Timed]:
    with served() as client:
        _fill()
        actions = {BARE: _get(client, BARE_PAGE)} | {name: _get(client, at) for name, at in ASKED.items()}
        return in_turn(actions, rounds) | in_turn({FIRST: _after_writing(client, "/")}, rounds)


def _late(timed: Timed) -> Timed:
    """Return the time that 95 of 100 stayed within."""
    wall = sorted(timed.wall)
    return Timed((wall[min(len(wall) - 1, int(0.95 * len(wall)))],))


def lines(rounds: int = ROUNDS) -> list[Line]:
    """Time board and search beside the bare page; of the board the slowest twentieth counts, against its median."""
    done = subprocess.run(
        [sys.executable, __file__, "--only-times", str(rounds)], capture_output=True, text=True, check=True, cwd=ROOT
    )
    walls: dict[str, list[float]] = json.loads(done.stdout.splitlines()[-1])
    timed = {name: Timed(tuple(wall)) for name, wall in walls.items()}
    made = [Line(BARE, timed[BARE], timed[BARE])]
    for name in ASKED:
        made.append(Line(name, timed[name], timed[BARE]))
        if name.startswith("board"):
            made.append(Line(f"{name}: 95th of 100", _late(timed[name]), timed[BARE], 10.0))
    return [*made, Line(FIRST, timed[FIRST], timed[BARE])]


if __name__ == "__main__":
    if sys.argv[1:2] == ["--only-times"]:
        print(json.dumps({name: timed.wall for name, timed in _timed(int(sys.argv[2])).items()}))
    else:
        print(table(lines()))
