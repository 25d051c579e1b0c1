"""The stance, matching, clip and why pages against a bare Django page of the same process, as the visit page is timed.

Each page is asked as a unit's own (its figures from its last visit) and, of the live pages, for what follows as one
types, with a figure that changes each time, so that nothing kept answers.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from itertools import count
from pathlib import Path
from urllib.parse import urlencode

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from bench.served import BARE, BARE_PAGE, served  # noqa: E402 - only now can they be found
from bench.timing import Line, in_turn, table  # noqa: E402

GOAL = 8.0


def lines(rounds: int) -> list[Line]:
    """Time each page beside the bare page."""
    with served() as client:
        from sparkout.records.models import Visit
        from sparkout.web.stand import clip, matching, stance

        unit = Visit.objects.filter(state="open").order_by("pk")[0].unit
        machine = unit.position.machine_id if unit.position else 1
        number = count()

        def get(address: str) -> Callable[[], None]:
            def asked() -> None:
                assert client.get(address).status_code == 200

            return asked

        def typed(address: str, example: dict[str, str], name: str, unit_of: str, first: float) -> Callable[[], None]:
            def asked() -> None:
                value = f"{first + next(number) * 0.001:.3f} {unit_of}"
                query = urlencode({**example, name: value})
                assert client.get(f"{address}told/?{query}", headers={"HX-Request": "true"}).status_code == 200

            return asked

        pages = {
            "stance page of a unit": get(f"/stance/?unit={unit.pk}"),
            "stance, as one types": typed("/stance/", stance.EXAMPLE, "of_cut", "mm", 3.5),
            "matching page of a machine": get(f"/matching/?machine={machine}"),
            "matching, as one types": typed("/matching/", matching.EXAMPLE, "bar", "mm", 0.02),
            "clip page of a unit": get(f"/clip/?unit={unit.pk}"),
            "clip, as one types": typed("/clip/", clip.EXAMPLE, "travel_speed", "km/h", 5.0),
            "why page": get("/why/"),
            "why page of a unit, one answer": get(f"/why/?unit={unit.pk}&y=torn-one-end"),
        }
        timed = in_turn({BARE: get(BARE_PAGE), **pages}, rounds)
    goals = {name: GOAL if "page" in name else None for name in pages}
    return [
        Line(BARE, timed[BARE], timed[BARE]),
        *(Line(name, timed[name], timed[BARE], goal) for name, goal in goals.items()),
    ]


if __name__ == "__main__":
    print(table(lines(int(sys.argv[1]) if len(sys.argv) > 1 else 11)))
