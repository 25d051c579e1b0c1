"""An invented technician with gauges that err: reads a virtual unit and writes it down as a visit file has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.practice.gauge_error import ErringGauge, erring, rattled
from sparkout.core.practice.gauge_geometry import dial, frame_check, shaft, straight_edge
from sparkout.core.practice.paper_trial import paper_outcomes
from sparkout.visit.entered import Place

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray

    from sparkout.core.practice.virtual_unit import VirtualUnit
    from sparkout.demonstration.workshop import Gauge, Table

ENDS = ("left", "right")
THREE = ("left", "centre", "right")
FIVE = ("left", "left quarter", "centre", "right quarter", "right")

_LETTERS = {"clean": "c", "pinched": "p", "uncut": "u"}
_THOU_LEAVES = tuple(0.0254 * n for n in (1, 1.5, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20, 25))


class Technician:
    """One person with the workshop's gauges for one visit; every gauge has one bias, drawn at the start."""

    def __init__(
        self, name: str, gauges: Iterable[Gauge], generator: np.random.Generator, when: str = "as found"
    ) -> None:
        self.name = name
        self.when = when
        self.generator = generator
        self._hands: dict[str, tuple[Gauge, ErringGauge]] = {
            gauge.id: (gauge, erring(gauge.instrument, generator)) for gauge in gauges
        }

    @property
    def gauge_tables(self) -> list[Table]:
        """The gauges as entries of a visit file."""
        return [gauge.table for gauge, _ in self._hands.values()]

    def _stage(self) -> Table:
        return {} if self.when == "as found" else {"when": self.when}

    def read(self, of: str, gauge: str, truth: float, *, least: float = -np.inf, **place: object) -> Table:
        """Return one reading of `truth`; `least` is the lowest figure the quantity can have."""
        shown, hand = self._hands[gauge]
        value = max(least, hand.reads(truth, self.generator))
        return {"of": of, "gauge": gauge, **place, "value": shown.text(value), **self._stage()}

    def along(
        self,
        of: str,
        gauge: str,
        unit: VirtualUnit,
        stations: Sequence[str],
        truth: Callable[[float], float],
        least: float = -np.inf,
        **more: str,
    ) -> list[Table]:
        """Return one reading at each station of what `truth` says there."""
        return [self.read(of, gauge, truth(where(unit, at)), at=at, least=least, **more) for at in stations]

    def leaves(self, of: str, gauge: str, gap: float, **place: object) -> Table:
        """Return one gap as the leaf that goes and the leaf that does not."""
        shown, hand = self._hands[gauge]
        own = {"leaves": _THOU_LEAVES} if shown.unit == "thou" else {}
        goes, stays = hand.leaves(max(0.0, gap), self.generator, **own)
        went = {"goes": _leaf(shown, goes)} if goes else {}
        return {"of": of, "gauge": gauge, **place, **went, "does_not_go": _leaf(shown, stays), **self._stage()}

    def gaps(
        self,
        of: str,
        gauge: str,
        unit: VirtualUnit,
        stations: Sequence[str],
        truth: Callable[[float], float],
        **more: object,
    ) -> list[Table]:
        """Return the gap at each station by leaves."""
        return [self.leaves(of, gauge, truth(where(unit, at)), at=at, **more) for at in stations]

    def zeroed(self, of: str, gauge: str, unit: VirtualUnit, stations: Sequence[str], set_up: str) -> list[Table]:
        """Return heights of the frame's mounts, or of the knife edge, each against the first station."""
        shape = frame_check if of == "frame" else straight_edge
        heights = shape(unit, [where(unit, at) for at in stations])
        return [
            self.read(of, gauge, float(height - heights[0]), at=at, set_up=set_up)
            for at, height in zip(stations, heights, strict=True)
        ]

    def swept_blades(
        self, gauge: str, unit: VirtualUnit, stations: Sequence[str], set_up: str, rail_out: float = 0.0
    ) -> Table:
        """Return a dial's readings on every blade at every station, on one rail, with the bearings' play in them."""
        x = [where(unit, at) for at in stations]
        truth = dial(unit, x, rail_out=rail_out) + rattled(unit, x, self.generator)
        return self._sweep("run-out", gauge, stations, truth, {"set_up": set_up})

    def swept_shaft(
        self, gauge: str, unit: VirtualUnit, stations: Sequence[str], degrees: Sequence[float], set_up: str
    ) -> Table:
        """Return a dial's readings on the bare shaft over one turn at every station."""
        turns = np.radians(degrees)
        truth = np.stack([shaft(unit, where(unit, at), turns) for at in stations], axis=1)
        angles = {"angles": [f"{degree:g} deg" for degree in degrees], "set_up": set_up}
        return self._sweep("shaft", gauge, stations, truth - truth[0, 0], angles)

    def _sweep(self, of: str, gauge: str, stations: Sequence[str], truth: NDArray[np.float64], more: Table) -> Table:
        shown, hand = self._hands[gauge]
        values = hand.reads_all(truth, self.generator)
        rows = [[float(shown.number(value)) for value in row] for row in values]
        return {
            "of": of,
            "gauge": gauge,
            "at": list(stations),
            **more,
            "unit": shown.unit,
            "values": rows,
            **self._stage(),
        }

    def paper(
        self, unit: VirtualUnit, stations: Sequence[str], gap: NDArray[np.float64], thickness: float, text: str
    ) -> Table:
        """Return a paper proof over gaps (N, S)."""
        outcomes = paper_outcomes(gap, thickness, unit.edge_rounding, self.generator)
        return {
            "stations": list(stations),
            "rows": ["".join(_LETTERS[outcome] for outcome in row) for row in outcomes],
            "thickness": text,
            "direction": "square to the knife",
            "paper": "office paper, dry",
            "when": self.when,
            "by": self.name,
        }

    def wheel(self, diameter: float) -> str:
        """Return the grinding wheel's diameter over flat jaws, as written down."""
        shown, hand = self._hands["jaws 1"]
        return shown.text(hand.reads(diameter, self.generator))


def where(unit: VirtualUnit, at: str) -> float:
    """Return a station named in words, mm from the left end."""
    return Place(at).along(unit.reel.length)


def _leaf(gauge: Gauge, thickness: float) -> str:
    return f"{round(thickness / 0.0254, 2):g} thou" if gauge.unit == "thou" else f"{round(thickness, 3):g} mm"
