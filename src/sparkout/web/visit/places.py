"""Where readings are typed: the boxes of the visit page, in measuring order, made for one reel."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import joined, phrase
from sparkout.visit.entered import Place
from sparkout.visit.quantities import QUANTITIES

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sparkout.showing import Showing
    from sparkout.visit.schema import Visit
    from sparkout.visit.taken import Reading, When

THREE = ("left", "centre", "right")
FIVE = ("left", "left quarter", "centre", "right quarter", "right")
ENDS = ("left", "right")
_QUARTERS = ("0", "90", "180", "270")
ZEROED = ("run-out", "shaft", "frame", "knife straightness")
"""Quantities whose readings share a zero, so that a set-up must be named."""
_SIZE = {"diameter": 127.0, "lip height": 5.0, "front lip depth": 6.0, "height of cut": 4.0, "roller diameter": 60.0}
"""Usual size in mm where it is not small: decides whether a bare number is taken in inches or thou."""

Key = tuple[str, float | None, int | None, int | None, str]
"""Which place a reading fills: quantity, x in mm, blade, angle in whole degrees, stage."""


@dataclass(frozen=True, slots=True)
class Box:
    """One place to type a reading."""

    id: str
    of: str
    when: When
    label: str
    unit: str
    at: str = ""
    blade: int | None = None
    angle: str = ""
    leaves: bool = False
    key: Key = ("", None, None, None, "")


@dataclass(frozen=True, slots=True)
class Grid:
    """A dial sweep: a row per blade or shaft angle, a column per station."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, tuple[Box, ...]], ...]
    corner: str


@dataclass(frozen=True, slots=True)
class Group:
    """Boxes of one quantity at one stage, read with one gauge."""

    id: str
    step: str
    of: str
    when: When
    title: str
    how: str
    kinds: tuple[str, ...]
    boxes: tuple[Box, ...] = ()
    grid: Grid | None = None
    needed: bool = field(default=True)
    """Whether a visit without any of these readings counts as missing something."""

    @property
    def all_boxes(self) -> tuple[Box, ...]:
        """Every box of the group in measuring order."""
        return self.boxes if self.grid is None else tuple(box for _, row in self.grid.rows for box in row)

    @property
    def zeroed(self) -> bool:
        """Whether its readings share a zero."""
        return self.of in ZEROED


def key_of(reading: Reading, length: float) -> Key:
    """Return the place a reading fills."""
    x = None if reading.at is None else round(reading.at.along(length), 1)
    angle = None if reading.angle is None else round(float(reading.angle) * 57.29577951308232) % 360
    return (reading.of, x, reading.blade, angle, reading.when)


@dataclass(frozen=True, slots=True)
class _Maker:
    """Makes boxes for one reel and one reader."""

    length: float
    blades: int
    showing: Showing

    def box(self, of: str, when: When, at: str = "", blade: int | None = None, angle: str = "") -> Box:
        entry = QUANTITIES[of]
        unit = self.showing.unit(entry.kind, _SIZE.get(of, 1.0)) if entry.kind == "length" else entry.unit
        x = round(Place(at).along(self.length), 1) if at else None
        place = "".join(word[0] for word in at.split())
        parts = [of.replace(" ", "_"), when.split()[1][0], "" if blade is None else str(blade), angle, place]
        name = "-".join(part for part in parts if part)
        places: tuple[str, ...] = (at, "" if blade is None else phrase("blade {blade}", blade=blade))
        label = joined(", ", filter(None, (*places, angle and f"{angle}°"))) or of
        leaves = entry.gauges == ("feeler",)
        key = (of, x, blade, int(angle) if angle else None, when)
        return Box(name, of, when, label, unit, at, blade, angle, leaves, key)

    def row(
        self,
        step: str,
        of: str,
        title: str,
        how: str,
        *,
        at: Iterable[str] = ("",),
        when: When = "as found",
        needed: bool = True,
    ) -> Group:
        boxes = tuple(self.box(of, when, place) for place in at)
        return Group(_id(of, when), step, of, when, title, how, QUANTITIES[of].gauges, boxes, None, needed)

    def run_down(self, when: When) -> tuple[Group, ...]:
        how = {
            "run-down time": phrase("Knife backed off, nobody near: from letting the reel go until it stands."),
            "run-down turns": phrase("Turns counted over that time: with them no tachometer is needed."),
            "run-down speed": phrase("Or the speed when it was let go, by tachometer or recording."),
        }
        titles = (phrase("Run-down time"), phrase("Run-down turns"), phrase("Run-down speed"))
        return tuple(
            self.row("bearings", of, title, how[of], when=when, needed=False)
            for of, title in zip(how, titles, strict=True)
        )

    def sweep(self, step: str, title: str, how: str, stations: tuple[str, ...], when: When) -> Group:
        rows = tuple(
            (str(blade), tuple(self.box("run-out", when, place, blade) for place in stations))
            for blade in range(1, self.blades + 1)
        )
        grid = Grid(stations, rows, phrase("blade"))
        return Group(_id("run-out", when), step, "run-out", when, title, how, QUANTITIES["run-out"].gauges, (), grid)

    def turn(self, step: str, title: str, how: str) -> Group:
        rows = tuple((f"{angle}°", (self.box("shaft", "as found", "centre", None, angle),)) for angle in _QUARTERS)
        grid = Grid(("centre",), rows, phrase("turned on by"))
        return Group(_id("shaft", "as found"), step, "shaft", "as found", title, how, ("dial",), (), grid, needed=False)


def _id(of: str, when: str) -> str:
    return f"{of} {when}".replace(" ", "_")


def stations(visit: Visit, when: When, *, five: bool) -> tuple[str, ...]:
    """Return the stations of the dial grid: three, or five when asked for or already read."""
    length = float(visit.reel.length)
    read = {round(r.at.along(length), 1) for r in visit.all_readings if r.of == "run-out" and r.when == when and r.at}
    quarters = {round(Place(name).along(length), 1) for name in ("left quarter", "right quarter")}
    return FIVE if five or read & quarters else THREE


def groups(visit: Visit, showing: Showing, *, five: bool = False) -> tuple[Group, ...]:
    """Return every group of boxes of a visit, in the order of the work."""
    across = (stations(visit, "as found", five=five), stations(visit, "as left", five=five))
    return groups_of(float(visit.reel.length), visit.reel.blades, showing, across)


def every_box(length: float, blades: int, showing: Showing) -> dict[str, tuple[Group, Box]]:
    """Return every box a page of this reel can have, by its id: with five stations, which take in the three."""
    return {b.id: (group, b) for group in groups_of(length, blades, showing, (FIVE, FIVE)) for b in group.all_boxes}


@lru_cache(64)
def groups_of(
    length: float, blades: int, showing: Showing, across: tuple[tuple[str, ...], tuple[str, ...]]
) -> tuple[Group, ...]:
    """Return every group of boxes for a reel; `across`: the stations of the dial's grids, as found and as left."""
    make = _Maker(length, blades, showing)
    found, left = across
    return (
        make.row(
            "look over",
            "nick depth",
            phrase("Nicks"),
            phrase("Deepest nick, square to the reel. Other blades: another reading, below."),
            at=(),
            needed=False,
        ),
        make.row(
            "bearings",
            "end play",
            phrase("End play"),
            phrase("Dial on the shaft's end; push and pull the reel along its axis."),
        ),
        make.row(
            "bearings",
            "radial play",
            phrase("Radial play"),
            phrase(
                "Dial on the shaft beside each bearing; lift and lower. Play reads as run-out: cure it before "
                "measuring."
            ),
            at=ENDS,
        ),
        make.row(
            "bearings",
            "preload",
            phrase("Preload"),
            phrase(
                "How far the nut draws the bearing up past the place where end play is gone; the book says how far."
            ),
            needed=False,
        ),
        make.row(
            "bearings",
            "drag",
            phrase("Drag"),
            phrase(
                "Spring balance on a string round the reel: the pull that just keeps it turning. At a side: with the "
                "other side's bearing slack."
            ),
            at=("", *ENDS),
            needed=False,
        ),
        *make.run_down("as found"),
        make.row(
            "bearings",
            "end play",
            phrase("End play, as left"),
            phrase("After work on the bearings."),
            when="as left",
            needed=False,
        ),
        make.row(
            "bearings",
            "drag",
            phrase("Drag, as left"),
            phrase("After work on the bearings."),
            at=("", *ENDS),
            when="as left",
            needed=False,
        ),
        make.row(
            "measure reel",
            "diameter",
            phrase("Diameter"),
            phrase("As the gauge shows it. Sparkout corrects for the kind of gauge and the number of blades."),
            at=THREE,
        ),
        make.row(
            "measure reel",
            "rest gap",
            phrase("Gap under the knife laid on"),
            phrase("Adjusters off, knife resting on the reel: leaf that goes, leaf that does not, as 1.9 2.0."),
            at=THREE,
        ),
        make.sweep(
            "measure reel",
            phrase("Dial, blade by blade"),
            phrase("Larger means farther from the axis; the zero is free."),
            found,
            "as found",
        ),
        make.row(
            "measure reel",
            "land",
            phrase("Land"),
            phrase("Width of the strip behind the edge that is not relieved."),
            at=THREE,
        ),
        make.turn(
            "measure reel",
            phrase("Bare shaft, turned by quarters"),
            phrase("Dial on the bare shaft at the centre, from under the marked blade on."),
        ),
        make.row(
            "measure reel",
            "frame",
            phrase("Knife mounts from the reel axis"),
            phrase("Same gauge at both ends; larger when farther."),
            at=ENDS,
            needed=False,
        ),
        make.row("measure knife", "lip height", phrase("Lip height"), phrase("What is left of the lip.")),
        make.row(
            "measure knife",
            "front lip depth",
            phrase("Front lip depth"),
            phrase("Front face, front to back, that can still be ground."),
        ),
        make.row(
            "measure knife",
            "knife straightness",
            phrase("Edge against a straight edge"),
            phrase("Larger where the edge stands farther from the reel."),
            at=THREE,
        ),
        make.row(
            "measure knife",
            "edge rounding",
            phrase("Rounding of the edge"),
            phrase("Radius of the worn edge, by loupe."),
            needed=False,
        ),
        make.row(
            "measure knife",
            "wear land",
            phrase("Flat worn on the top face"),
            phrase("Its width, by loupe."),
            needed=False,
        ),
        make.row("measure knife", "top angle", phrase("Top angle"), phrase("Top face against the seat."), needed=False),
        make.row(
            "measure knife",
            "front angle",
            phrase("Front angle"),
            phrase("Front face against the square to the seat."),
            needed=False,
        ),
        make.row(
            "check",
            "diameter",
            phrase("Diameter, as left"),
            phrase("With the same gauge as before."),
            at=THREE,
            when="as left",
        ),
        make.sweep(
            "check",
            phrase("Dial, blade by blade, as left"),
            phrase("From a zero of its own."),
            left,
            "as left",
        ),
        make.row(
            "check",
            "land",
            phrase("Land, as left"),
            phrase("After spin and relief."),
            at=THREE,
            when="as left",
            needed=False,
        ),
        make.row(
            "set",
            "gap",
            phrase("Gap as found"),
            phrase("Reel to knife before setting: leaf that goes, leaf that does not."),
            at=THREE,
            needed=False,
        ),
        make.row(
            "set", "gap", phrase("Gap as set"), phrase("Leaf that goes, leaf that does not."), at=THREE, when="as left"
        ),
        make.row(
            "set",
            "height of cut",
            phrase("Height of cut"),
            phrase("On the bench, at both ends."),
            at=ENDS,
            when="as left",
        ),
    )


def place_named(boxes: dict[str, tuple[Group, Box]], typed_in: Box, at: str, blade: int | None) -> Box:
    """Return the box a line names ("left go 1.9 nogo 2.0"): of the same quantity and stage, else the one typed in.

    Raises
    ------
    Refusal
        When it names a place that has no box.
    """
    if (not at or at == typed_in.at) and blade in (None, typed_in.blade):
        return typed_in
    wanted = (typed_in.of, typed_in.when, at or typed_in.at, typed_in.blade if blade is None else blade)
    found = next((box for _, box in boxes.values() if (box.of, box.when, box.at, box.blade) == wanted), None)
    if found is None:
        place = joined(", ", filter(None, (at, "" if blade is None else phrase("blade {blade}", blade=blade))))
        raise Refusal(
            phrase("there is no box for {quantity} at {place}; use another reading", quantity=typed_in.of, place=place)
        )
    return found
