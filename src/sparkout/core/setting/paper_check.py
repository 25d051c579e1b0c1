"""The one next check that tells two explanations of a paper proof apart best."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from sparkout.core.phrase import phrase
from sparkout.core.setting.paper_grid import OUTCOMES
from sparkout.core.setting.paper_model import outcome_probabilities

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.setting.paper_causes import Cause
    from sparkout.core.setting.paper_grid import PaperGrid
    from sparkout.core.setting.paper_model import PaperModel

Kind = Literal["paper", "paper after closing", "feeler", "feeler difference", "dial", "edge"]

PINCHED = OUTCOMES.index("pinched")

CLOSE_BY = 0.02
"""mm; how far both ends are closed for a second try: a click or two. Never offered where a strip was pinched. Common
practice, no source."""
_U_FEELER = 0.015
_U_DIAL = 0.007
_EASE: dict[Kind, float] = {
    "paper": 1.0,
    "edge": 1.0,
    "paper after closing": 0.95,
    "feeler": 0.9,
    "feeler difference": 0.9,
    "dial": 0.85,
}
"""How readily each check is made, against one more strip of paper. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class NextCheck:
    """What to do next, in words; which two explanations it separates; and how well, from 0 (not) to 1 (wholly).

    `separation` is the squared Hellinger distance between what the two lead one to expect of the check.
    """

    kind: Kind
    words: str
    blade: int | None
    station: float | None
    separates: tuple[str, str]
    separation: float


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """A cause with the weights of its nodes after the paper, and the probability of each outcome at its nodes."""

    cause: Cause
    node_weight: NDArray[np.float64]
    probability: NDArray[np.float64]

    def expect(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Mean over the nodes of values (K, ...)."""
        matter = self.node_weight > 1e-9
        mean: NDArray[np.float64] = np.tensordot(self.node_weight[matter], values[matter], axes=1)
        return mean

    @property
    def gap(self) -> NDArray[np.float64]:
        """Gap at every node, blade and station, (K, N, S), mm."""
        return self.cause.opening + self.cause.least[:, None, None]


_Choice = tuple[Kind, float, int | None, int | None]


def next_check(first: Weighed, second: Weighed, grid: PaperGrid, model: PaperModel, thickness: float) -> NextCheck:
    """Return the check that separates two explanations best, weighed by how readily it is made.

    Equation: squared Hellinger distance between the two predictions: 1 - sum sqrt(p q) for outcomes; for a reading, of
    normal distributions with the nodes' mean and variance and the gauge's uncertainty (feeler 0.015 mm, dial 0.007 mm:
    common practice, no source).

    References
    ----------
    Hellinger distance: a standard measure. The list of checks: common practice, no source.
    """
    choices = [*_paper_choices(first, second, grid, model, thickness), *_gauge_choices(first, second, grid)]
    kind, separation, blade, station = max(choices, key=lambda c: (round(c[1] * _EASE[c[0]], 9), -choices.index(c)))
    place = None if station is None else float(grid.stations[station])
    words = _words(kind, blade, None if station is None else place_name(float(grid.t[station]), float(place or 0.0)))
    return NextCheck(kind, words, blade, place, (first.cause.key, second.cause.key), separation)


def place_name(t: float, x: float) -> str:
    """Return a station's name: an end, the middle, or so many mm from the left end.

    Examples
    --------
    >>> place_name(-0.95, 13.0), place_name(0.0, 266.5), place_name(0.5, 399.75)
    ('the left end', 'the middle', '400 mm from the left end')
    """
    if t < -0.8:
        return phrase("the left end")
    if t > 0.8:
        return phrase("the right end")
    return phrase("the middle") if abs(t) < 0.1 else phrase("{x:.0f} mm from the left end", x=x)


def _outcome_distance(p: NDArray[np.float64], q: NDArray[np.float64]) -> NDArray[np.float64]:
    distance: NDArray[np.float64] = 1.0 - np.sqrt(p * q).sum(axis=-1)
    return distance


def _reading_distance(
    first: Weighed, second: Weighed, values: list[NDArray[np.float64]], u: float
) -> NDArray[np.float64]:
    """Squared Hellinger distance of two normal predictions of a reading; values are (K, ...) for either."""
    means = [w.expect(v) for w, v in zip((first, second), values, strict=True)]
    variances = [w.expect((v - m) ** 2) + u**2 for w, v, m in zip((first, second), values, means, strict=True)]
    total = variances[0] + variances[1]
    overlap = np.sqrt(2.0 * np.sqrt(variances[0] * variances[1]) / total)
    distance: NDArray[np.float64] = 1.0 - overlap * np.exp(-0.25 * (means[0] - means[1]) ** 2 / total)
    return distance


def _best(kind: Kind, distance: NDArray[np.float64], grid: PaperGrid) -> _Choice:
    """Best place on a grid (N, S); of equals the one nearest the middle, so that left and right are alike."""
    b, s = np.unravel_index(int(np.argmax(distance.round(9) - 1e-6 * np.abs(grid.t))), distance.shape)
    return kind, float(distance[b, s]), int(b), int(s)


def _paper_choices(
    first: Weighed, second: Weighed, grid: PaperGrid, model: PaperModel, thickness: float
) -> Iterator[_Choice]:
    both = first, second
    again = _outcome_distance(*(w.expect(w.probability) for w in both))
    if not grid.tried.all():
        yield _best("paper", np.where(grid.tried, -1.0, again), grid)
    if not (grid.outcomes == PINCHED).any() and "too tight" not in (first.cause.key, second.cause.key):
        closed = [_closed(w, grid, model, thickness) for w in both]
        yield _best("paper after closing", _outcome_distance(closed[0], closed[1]), grid)
    dull = [0.9 if w.cause.blunt is not None else 0.1 for w in both]  # chance that a blunt edge shows under a glass
    seen = np.array([[p, 1.0 - p] for p in dull])
    yield "edge", float(_outcome_distance(seen[0], seen[1])), None, None


def _closed(weighed: Weighed, grid: PaperGrid, model: PaperModel, thickness: float) -> NDArray[np.float64]:
    """Outcomes to expect once both ends are closed by `CLOSE_BY`, (N, S, 3)."""
    if weighed.cause.blunt is not None:
        return weighed.expect(weighed.probability)
    return weighed.expect(outcome_probabilities(weighed.gap - CLOSE_BY, thickness, model, square=grid.square))


def _gauge_choices(first: Weighed, second: Weighed, grid: PaperGrid) -> Iterator[_Choice]:
    both = first, second
    gaps = [w.gap.mean(axis=1) for w in both]
    for s in sorted(range(len(grid.stations)), key=lambda s: abs(round(float(grid.t[s]), 6))):
        yield "feeler", float(_reading_distance(first, second, [g[:, s] for g in gaps], _U_FEELER)), None, s
    middle = int(np.argmin(np.abs(grid.t)))
    if len(grid.stations) > 1:
        ends = [g[:, 0] - g[:, -1] for g in gaps]
        yield "feeler difference", float(_reading_distance(first, second, ends, 1.5 * _U_FEELER)), None, None
        hollow = [g[:, middle] - 0.5 * (g[:, 0] + g[:, -1]) for g in gaps]
        yield "feeler difference", float(_reading_distance(first, second, hollow, 1.5 * _U_FEELER)), None, middle
    shapes = [w.cause.reel_shape for w in both]
    against_others = [shape - shape.mean(axis=1, keepdims=True) for shape in shapes]
    yield _best("dial", _reading_distance(first, second, against_others, _U_DIAL), grid)


def _words(kind: Kind, blade: int | None, place: str | None) -> str:
    if kind == "paper":
        return phrase("paper on blade {blade} at {place}, not tried yet", blade=(blade or 0) + 1, place=place)
    if kind == "paper after closing":
        return phrase(
            "close both ends alike by a click or two and try paper again on blade {blade} at {place}",
            blade=(blade or 0) + 1,
            place=place,
        )
    if kind == "dial":
        return phrase(
            "dial on blade {blade} at {place} against the other blades there", blade=(blade or 0) + 1, place=place
        )
    if kind == "edge":
        return phrase("look at the edges of blades and knife under a glass, drive isolated")
    if kind == "feeler":
        return phrase("feeler gauge at {place}, the leaf that goes and the leaf that does not", place=place)
    return (
        phrase("feeler gauge at the left end against the right end")
        if place is None
        else phrase("feeler gauge at {place} against both ends", place=place)
    )
