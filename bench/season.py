"""The season's pages for 200 units against a bare Django page of the same process; a move told while it is dragged.

The bare page is one query and one small template behind the same middleware. The pages' lines are of pages looked at
again while nothing was written; the first after something was written stands apart. Processor time is what counts: the
ratio of it is the goal's. Runs in a process of its own, because Django is set up once in a process.

    python bench/season.py
"""

from __future__ import annotations

import datetime
import json
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from bench.served import BARE, BARE_PAGE, served, write_something  # noqa: E402 - only now can they be found
from bench.timing import Line, Timed, in_turn, table  # noqa: E402 - only now can they be found

UNITS, A_MACHINE, ROUNDS, GOAL = 200, 5, 21, 10.0
FIRST = "season on the wall, first time after something was written (with the writing)"
MOVE = "what a move costs, told while a job is dragged"
ASKED = {
    "season, what is due": "/season/",
    "season on the wall": "/season/wall/",
    "season, load, parts and money": "/season/load/",
    "season sheet": "/season/sheet/",
}


def _fill(today: datetime.date) -> None:
    """Add 200 units with reels, clocks and machines to a workshop, and a season sheet for them."""
    from sparkout.records import models as m
    from sparkout.records.operations.season import set_sheet

    place, me, kind = m.Place.objects.all()[0], m.Person.objects.all()[0], m.ReelType.objects.all()[0]
    m.Unit.objects.update(active=False)
    machines = m.Machine.objects.bulk_create(
        m.Machine(name=f"machine {i}", place=place) for i in range(UNITS // A_MACHINE)
    )
    places = m.Position.objects.bulk_create(
        m.Position(machine=machines[i // A_MACHINE], name=f"position {i % A_MACHINE}") for i in range(UNITS)
    )
    units = m.Unit.objects.bulk_create(m.Unit(name=f"unit {i}", position=at) for i, at in enumerate(places))
    reels = m.Reel.objects.bulk_create(m.Reel(type=kind, label=f"reel of unit {i}") for i in range(UNITS))
    since = today - datetime.timedelta(days=70)
    m.Fitting.objects.bulk_create(m.Fitting(unit=u, reel=r, since=since) for u, r in zip(units, reels, strict=True))
    clocks = [m.HoursEntry(unit=u, on=since, hours="100 h") for u in units]
    clocks += [m.HoursEntry(unit=u, on=today, hours=f"{140 + 7 * i % 60} h") for i, u in enumerate(units)]
    m.HoursEntry.objects.bulk_create(clocks)
    people = [{"name": f"technician {name}", "overtime": "2 h"} for name in "ABCD"]
    set_sheet(actor=me, tables={"people": people, "grinders": [{"name": "one"}, {"name": "two"}], "weeks": 12})


def _get(client: Any, address: str, **headers: str) -> Callable[[], float]:
    def asked() -> float:
        began = time.process_time()
        assert client.get(address, headers=headers).status_code == 200
        return time.process_time() - began

    return asked


def _after_writing(client: Any, address: str) -> Callable[[], float]:
    """Ask after something was written: nothing that was kept stands any more."""

    def asked() -> float:
        began = time.process_time()
        write_something()
        assert client.get(address).status_code == 200
        return time.process_time() - began

    return asked


def _timed(rounds: int) -> dict[str, Timed]:
    with served() as client:
        from sparkout.records.jobs import do_now
        from sparkout.records.models import Person
        from sparkout.records.operations.doing import today
        from sparkout.records.operations.season import keep_plan, make_plan
        from sparkout.records.season import kept_plan, placements, plan_of_job

        _fill(today())
        me = Person.objects.order_by("pk")[0]
        made = plan_of_job(do_now(make_plan(actor=me, seconds=5.0)))
        assert made is not None
        keep_plan(actor=me, plan=made)
        jobs = placements(kept_plan())
        print(f"{len(jobs)} jobs", file=sys.stderr)
        moved = f"/season/wall/move/?job={jobs[0].job}&on={today() + datetime.timedelta(days=20)}"
        actions = {BARE: _get(client, BARE_PAGE)} | {name: _get(client, at) for name, at in ASKED.items()}
        actions[MOVE] = _get(client, moved, **{"HX-Request": "true"})
        after = {FIRST: _after_writing(client, "/season/wall/")}
        return in_turn(actions, rounds) | in_turn(after, max(3, rounds // 4))


def lines(rounds: int = ROUNDS) -> list[Line]:
    """Time the season's pages beside the bare page."""
    done = subprocess.run(
        [sys.executable, __file__, "--only-times", str(rounds)], capture_output=True, text=True, check=True, cwd=ROOT
    )
    told: dict[str, list[list[float]]] = json.loads(done.stdout.splitlines()[-1])
    timed = {name: Timed(tuple(wall), tuple(processor)) for name, (wall, processor) in told.items()}
    pages = [Line(name, timed[name], timed[BARE], GOAL) for name in ASKED]
    rest = [Line(name, timed[name], timed[BARE]) for name in (MOVE, FIRST)]
    return [Line(BARE, timed[BARE], timed[BARE]), *pages, *rest]


if __name__ == "__main__":
    if sys.argv[1:2] == ["--only-times"]:
        timed = _timed(int(sys.argv[2]))
        print(json.dumps({name: (each.wall, each.processor) for name, each in timed.items()}))
    else:
        print(table(lines()))
