"""The pictures of the visit page: those of the papers, and the unrolled reel with the next reading marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.utils.safestring import SafeString, mark_safe

from sparkout.drawing.unrolled import unrolled_reel
from sparkout.papers.pictures import OF_FOUND, drawn_stations, manners, picture, picture_of_found
from sparkout.reckoning.setting import sd_about_mean

if TYPE_CHECKING:
    from sparkout.web.visit.bench import Bench

WIDTH = 390.0


class Drawn:
    """The pictures of one bench by name, each drawn when it is first asked for; empty where there is none."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._made: dict[str, SafeString] = {}

    def __getitem__(self, name: str) -> SafeString:
        """Return the picture as SVG text; an underscore in the name stands for a hyphen."""
        if name not in self._made:
            self._made[name] = mark_safe(_drawn(self._bench, name.replace("_", "-")))
        return self._made[name]


def _drawn(bench: Bench, name: str) -> str:
    if bench.found is None:
        return ""
    if name == "unrolled":
        return _unrolled(bench)
    if name in OF_FOUND:
        return picture_of_found(bench.found, bench.showing, name, WIDTH)
    return "" if bench.answer is None else picture(bench.answer, bench.showing, name, WIDTH)


def drawn_at(bench: Bench) -> str:
    """Return the stations of the unrolled reel in mm, for finding the box that belongs to a place tapped."""
    if bench.found is None:
        return ""
    return " ".join(f"{x:.1f}" for x in bench.found.diagnosis.stations[:: drawn_stations(WIDTH)])


def _unrolled(bench: Bench) -> str:
    assert bench.found is not None
    found, step = bench.found.diagnosis, drawn_stations(WIDTH)
    readings = [
        (m.x, None if m.blade is None else m.blade - 1, bench.showing.say(m.label))
        for m in bench.found.readings
        if m.x is not None and m.when == "as found" and m.of in ("diameter", "run-out", "rest gap")
    ]
    wanted = [
        box for box in bench.next_boxes if box.key[1] is not None and box.of in ("diameter", "run-out", "rest gap")
    ]
    following = None
    if wanted:
        x, blade = wanted[0].key[1], wanted[0].blade
        following = (min(float(x or 0.0), bench.length), None if blade is None else blade - 1)
    return unrolled_reel(
        found.heights[:, ::step] - float(found.heights.mean()),
        found.stations[::step],
        bench.length,
        readings=readings,
        next_reading=following,
        lowest=(found.lowest.x, found.lowest.blade) if "blades" in found.informed else None,
        sd=sd_about_mean(found.heights_sd, found)[:, ::step],
        **manners(bench.showing, "unrolled", WIDTH),
    )
