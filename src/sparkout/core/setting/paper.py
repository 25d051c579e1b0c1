"""A paper proof read as evidence: the likelihood of each explanation, not one word."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import Contradiction, all_within, within
from sparkout.core.phrase import joined, phrase
from sparkout.core.setting.paper_causes import Cause, causes
from sparkout.core.setting.paper_check import NextCheck, Weighed, next_check, place_name
from sparkout.core.setting.paper_grid import OUTCOMES, PaperGrid
from sparkout.core.setting.paper_model import OFFICE_PAPER, PaperModel, outcome_probabilities

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from sparkout.core.reel.geometry import Reel

SURPRISING = 0.15
"""A trial is surprising when the leading explanation gave what happened less than this chance."""


@dataclass(frozen=True, slots=True, eq=False)
class PaperExplanation:
    """One explanation: its weight among all, and what it leads one to expect of every trial."""

    key: str
    words: str
    weight: float
    expected: NDArray[np.int8]
    """Likeliest outcome, (N, S), as indices into `paper_grid.OUTCOMES`."""
    probability: NDArray[np.float64]
    """Of clean, pinched and uncut, (N, S, 3)."""
    blade: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class PaperEvidence:
    """What a paper proof says: explanations by falling weight, the next check, and plain sentences."""

    explanations: tuple[PaperExplanation, ...]
    next_check: NextCheck
    surprising: tuple[tuple[int, int], ...]
    """(blade, station) indices of trials the leading explanation does not account for."""
    sentences: tuple[str, ...]
    cautions: tuple[str, ...]
    """What paper and feeler do not prove; stands beside every result."""

    def weight(self, key: str) -> float:
        """Weight of an explanation by its key; of all blades together for "low blade" and "high blade"."""
        return sum(e.weight for e in self.explanations if e.key == key or e.key.rpartition(" ")[0] == key)


def read_paper(
    grid: PaperGrid,
    reel: Reel,
    *,
    wanted_gap: float = 0.03,
    deviation: ArrayLike | None = None,
    deviation_sd: ArrayLike | None = None,
    knife: ArrayLike | None = None,
    model: PaperModel | None = None,
) -> PaperEvidence:
    """Return the weight of each explanation of a paper proof, and the check that separates the best two.

    Equation: weight ~ odds x sum over nodes of node weight x product over trials of P(outcome | gap at that blade and
    station), the nodes being sizes and places of the fault and the least gap the setting leaves. Gap(x, b) = least gap
    + opening(x, b), opening = what the fault and the gauged shape leave above the closest place.

    Parameters
    ----------
    grid
        From `paper_grid`.
    reel
        The reel it was taken on.
    wanted_gap
        What the setter aimed at, mm; default 0.03, common practice, no source.
    deviation, deviation_sd
        Height of each blade as other gauges showed it, from any common level, and its standard uncertainty, (N, S) mm
        at the grid's stations. Its end-to-end line is taken out, as the adjusters do. With it, every explanation is
        what lies beyond the gauged shape.
    knife
        Knife line as gauged, (S,) mm, positive away from the axis.
    model
        Figures of the likelihood model.

    Raises
    ------
    OutOfRange
        For a value outside its range.
    Contradiction
        When an array's shape is not the grid's.

    Validity: one fault at a time, and trials independent but for it. A model, common practice, no source: the weights
    rank, they are not frequencies.

    Examples
    --------
    >>> from sparkout.core.reel.geometry import Reel
    >>> from sparkout.core.setting.paper_grid import paper_grid
    >>> reel = Reel(5, 127.0, 533.0)
    >>> proof = paper_grid(["ccc", "ccc", "uuu", "ccc", "ccc"], [20.0, 266.5, 513.0], reel, thickness=0.1, square=True)
    >>> read = read_paper(proof, reel)
    >>> read.explanations[0].words, read.explanations[0].weight > 0.9
    ('blade 3 low', True)

    References
    ----------
    Common practice, no source, for the model and its figures.
    """
    figures = model or PaperModel()
    aim = within("wanted_gap", wanted_gap, -0.2, 0.5, "mm")
    gauged, spread = _gauged(grid, deviation, deviation_sd, knife)
    thickness = grid.thickness if grid.thickness is not None else OFFICE_PAPER
    found = causes(grid, reel, aim, figures, gauged)
    weighed, evidence = _weigh(found, grid, thickness, figures, spread)
    weights = np.exp(evidence - evidence.max())
    weights /= weights.sum()
    order = np.argsort(-weights.round(12), kind="stable")
    explanations = tuple(_explanation(weighed[i], float(weights[i])) for i in order)
    check = next_check(weighed[order[0]], weighed[order[1]], grid, figures, thickness)
    surprising = _surprising(explanations[0], grid)
    sentences = _sentences(explanations, check, grid, surprising)
    return PaperEvidence(explanations, check, surprising, sentences, _cautions(grid, thickness, aim))


def _shaped(name: str, values: ArrayLike, shape: tuple[int, ...], low: float, high: float) -> NDArray[np.float64]:
    array = all_within(name, values, low, high, "mm")
    if array.shape != shape:
        raise Contradiction(
            (name, phrase("paper grid")),
            phrase("its shape is {shape}, the grid's {grid}", shape=array.shape, grid=shape),
        )
    return array


def _gauged(
    grid: PaperGrid, deviation: ArrayLike | None, deviation_sd: ArrayLike | None, knife: ArrayLike | None
) -> tuple[NDArray[np.float64] | None, NDArray[np.float64] | float]:
    """Gauged blades less knife with the adjusters' straight line out, and the uncertainty to blur with."""
    shape = grid.outcomes.shape
    spread = 0.0 if deviation_sd is None else _shaped("deviation_sd", deviation_sd, shape, 0.0, 10.0)
    if deviation is None and knife is None:
        return None, spread
    heights = np.zeros(shape) if deviation is None else _shaped("deviation", deviation, shape, -50.0, 50.0)
    if knife is not None:
        heights = heights - _shaped("knife", knife, shape[1:], -50.0, 50.0)
    highest = heights.max(axis=0)
    t = grid.t
    if len(t) > 1:
        heights = heights - highest[0] - (highest[-1] - highest[0]) * (t - t[0]) / (t[-1] - t[0])
    return heights, spread


def _weigh(
    found: list[Cause],
    grid: PaperGrid,
    thickness: float,
    model: PaperModel,
    spread: NDArray[np.float64] | float,
) -> tuple[list[Weighed], NDArray[np.float64]]:
    """Each cause with its nodes weighed, and its log odds after the paper; one pass over all nodes together."""
    opening = np.concatenate([cause.opening for cause in found])
    least = np.concatenate([cause.least for cause in found])
    gap = opening + least[:, None, None]
    probability = outcome_probabilities(gap, thickness, model, square=grid.square, gap_sd=spread)
    ends = np.cumsum([len(cause.least) for cause in found])
    for cause, end in zip(found, ends, strict=True):
        if cause.blunt is not None:
            probability[end - len(cause.least) : end] = _blunt(cause.blunt)[:, None, None, :]
    likelihood = np.zeros(len(least))
    for code in range(len(OUTCOMES)):
        likelihood += np.log(probability[..., code][:, grid.outcomes == code]).sum(axis=1)
    weighed, evidence = [], []
    for cause, end in zip(found, ends, strict=True):
        mine = slice(end - len(cause.least), end)
        log_joint = likelihood[mine] + np.log(cause.weight)
        top = log_joint.max()
        node = np.exp(log_joint - top)
        with np.errstate(divide="ignore"):
            evidence.append(np.log(cause.odds) + top + np.log(node.sum()))
        weighed.append(Weighed(cause, node / node.sum(), probability[mine]))
    return weighed, np.array(evidence)


def _blunt(uncut: NDArray[np.float64]) -> NDArray[np.float64]:
    """A blunt edge: that share uncut whatever the gap, of the rest two in three clean; nothing is impossible."""
    rest = 1.0 - uncut
    p = np.stack([rest * 2.0 / 3.0, rest / 3.0, uncut], axis=-1)
    return np.asarray(0.99 * p + 0.01 / 3.0)


def _explanation(weighed: Weighed, weight: float) -> PaperExplanation:
    probability = weighed.expect(weighed.probability)
    cause = weighed.cause
    return PaperExplanation(
        cause.key, cause.words, weight, probability.argmax(axis=-1).astype(np.int8), probability, cause.blade
    )


def _surprising(leading: PaperExplanation, grid: PaperGrid) -> tuple[tuple[int, int], ...]:
    at = np.nonzero(grid.tried)
    chance = leading.probability[at[0], at[1], grid.outcomes[at]]
    return tuple((int(b), int(s)) for b, s, p in zip(*at, chance, strict=True) if p < SURPRISING)


def _percent(weight: float) -> str:
    if weight > 0.995:
        return phrase("over 99 %")
    return phrase("under 1 %") if weight < 0.005 else f"{100 * weight:.0f} %"


def _sentences(
    explanations: tuple[PaperExplanation, ...],
    check: NextCheck,
    grid: PaperGrid,
    surprising: tuple[tuple[int, int], ...],
) -> tuple[str, ...]:
    first, second = explanations[:2]
    counts = [int((grid.outcomes == code).sum()) for code in range(len(OUTCOMES))]
    tried, all_cells = int(grid.tried.sum()), grid.outcomes.size
    said = [
        phrase(
            "{tried} of {all_cells} places tried: {clean} clean, {pinched} pinched, {uncut} uncut.",
            tried=tried,
            all_cells=all_cells,
            **dict(zip(OUTCOMES, counts, strict=True)),
        ),
        phrase(
            "Likeliest: {first} ({first_weight}); then {second} ({second_weight}).",
            first=first.words,
            first_weight=_percent(first.weight),
            second=second.words,
            second_weight=_percent(second.weight),
        ),
        phrase("To tell these two apart: {check}.", check=check.words),
    ]
    if tried < all_cells:
        said.append(phrase("Nothing is proved at the {left} places not tried.", left=all_cells - tried))
    if surprising:
        named = [(b + 1, place_name(float(grid.t[s]), float(grid.stations[s]))) for b, s in surprising[:3]]
        where = joined("; ", (phrase("blade {blade} at {place}", blade=blade, place=place) for blade, place in named))
        if len(surprising) > 3:
            where = phrase("{places} and {rest} more", places=where, rest=len(surprising) - 3)
        said.append(phrase("The likeliest explanation does not account for {where}: try these again.", where=where))
    return tuple(said)


def _cautions(grid: PaperGrid, thickness: float, aim: float) -> tuple[str, ...]:
    said = [
        phrase(
            "Paper {thickness:.3f} mm thick being sheared is not a measurement of a gap of {aim:.3f} mm.",
            thickness=thickness,
            aim=max(aim, 0.0),
        ),
        phrase("A feeler gauge sorts gaps; it cannot prove a band 0.025 mm wide."),
        phrase("How paper answers to a gap is a model with editable figures: common practice, no source."),
    ]
    if grid.thickness is None:
        said.append(
            phrase(
                "Paper thickness was not given; office paper, {thickness:.2f} mm (from memory), was taken.",
                thickness=OFFICE_PAPER,
            )
        )
    if grid.square is None:
        said.append(phrase("How the strip was held was not given; the trials count for less."))
    elif not grid.square:
        said.append(phrase("The strip was not held square to the knife; the trials count for less."))
    return tuple(said)
