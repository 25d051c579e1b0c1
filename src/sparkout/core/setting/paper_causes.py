"""The explanations a paper proof is held against: what gap each would leave at every blade and station."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.reel.geometry import Reel
    from sparkout.core.setting.paper_grid import PaperGrid
    from sparkout.core.setting.paper_model import PaperModel

_WORDS = {
    "sound": phrase("edges, reel and setting sound"),
    "middle open": phrase("gap wider in the middle: hollow reel or bowed knife"),
    "middle tight": phrase("gap closer in the middle: barrelled reel or knife bowed towards it"),
    "left end low": phrase("worn low at the left end, blades or knife"),
    "right end low": phrase("worn low at the right end, blades or knife"),
    "left open": phrase("knife not parallel, open at the left"),
    "right open": phrase("knife not parallel, open at the right"),
    "off centre": phrase("blades off centre on the shaft, or play in a bearing"),
    "bent shaft": phrase("shaft bent in the middle"),
    "blunt": phrase("blunt edge, blades or knife"),
    "too tight": phrase("set too tight"),
    "too open": phrase("set too open"),
}
AS_GAUGED = phrase("nothing beyond what the gauges showed")


@dataclass(frozen=True, slots=True, eq=False)
class Cause:
    """One explanation as equally shaped nodes: opening (K, N, S) above the least gap, least gap (K,), weight (K,).

    `blunt` holds, for a blunt edge, the share uncut (K,); `blade` the blade meant (0-based) where there is one.
    """

    key: str
    words: str
    odds: float
    opening: NDArray[np.float64]
    least: NDArray[np.float64]
    weight: NDArray[np.float64]
    reel_shape: NDArray[np.float64]
    """The part of the opening that lies in the reel alone, as a dial would show it: heights (K, N, S)."""
    blade: int | None = None
    blunt: NDArray[np.float64] | None = None


def _normal_nodes(centre: float, spread: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    z = np.linspace(-2.4, 2.4, 9)
    weight = np.exp(-0.5 * z**2)
    return centre + spread * z, weight / weight.sum()


def _end_shape(t: NDArray[np.float64]) -> NDArray[np.float64]:
    """1 at the right end, falling to 0 a third of the half-length beyond the middle."""
    return np.square(np.clip((t - 1.0 / 3.0) * 1.5, 0.0, 1.0))


def _fault_shapes(grid: PaperGrid, reel: Reel) -> dict[str, NDArray[np.float64]]:
    """Height of the blades, or of the knife towards them, per mm of fault: (variants, N, S)."""
    t = grid.t
    n, s = grid.outcomes.shape
    even = np.ones((n, 1))
    bow = 1.0 - t**2
    phases = 2.0 * np.pi * np.arange(8) / 8.0
    from_middle = reel.angles(grid.stations - reel.length / 2.0)  # so that left and right are alike to the phases
    turned = np.cos(from_middle[None] - phases[:, None, None])
    at_an_end = (1.0 - t) / 2.0, (1.0 + t) / 2.0
    return {
        "middle open": (-even * bow)[None],
        "middle tight": (even * bow)[None],
        "left end low": (-even * _end_shape(-t))[None],
        "right end low": (-even * _end_shape(t))[None],
        "left open": (-even * (1.0 - t) / 2.0)[None],
        "right open": (-even * (1.0 + t) / 2.0)[None],
        "off centre": np.concatenate([turned, *(turned * share for share in at_an_end)]),
        "bent shaft": turned * bow,
        "sound": np.zeros((1, n, s)),
    }


_IN_THE_REEL = {"off centre", "bent shaft"}


def _nodes(
    heights: NDArray[np.float64],
    least: tuple[NDArray[np.float64], NDArray[np.float64]],
    gauged: NDArray[np.float64],
    in_the_reel: bool,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Every fault (F, N, S) with every least gap (M,): opening, least gap, weight and reel shape, F M nodes."""
    opening = -(heights + gauged)
    opening -= opening.min(axis=(1, 2), keepdims=True)
    count = len(least[0])
    reel_shape = heights if in_the_reel else np.zeros_like(heights)
    return (
        np.repeat(opening, count, axis=0),
        np.tile(least[0], len(heights)),
        np.tile(least[1], len(heights)) / len(heights),
        np.repeat(reel_shape, count, axis=0),
    )


def causes(
    grid: PaperGrid,
    reel: Reel,
    wanted_gap: float,
    model: PaperModel,
    gauged: NDArray[np.float64] | None = None,
) -> list[Cause]:
    """Return every explanation with its nodes.

    Parameters
    ----------
    grid, reel, model
        The proof, the reel it was taken on and the figures.
    wanted_gap
        What the setter aimed at, mm.
    gauged
        Height of blades less knife line, (N, S) mm, as other gauges showed them; the straight line between the highest
        blades at both ends is already taken out, as the adjusters take it out.

    Examples
    --------
    >>> from sparkout.core.reel.geometry import Reel
    >>> from sparkout.core.setting.paper_grid import paper_grid
    >>> from sparkout.core.setting.paper_model import PaperModel
    >>> reel = Reel(3, 127.0, 533.0)
    >>> found = causes(paper_grid(["ccc"] * 3, [0.0, 266.5, 533.0], reel), reel, 0.03, PaperModel())
    >>> [cause.key for cause in found][:3]
    ['middle open', 'middle tight', 'left end low']

    References
    ----------
    Geometry, own working; the list of explanations is common practice, no source.
    """
    n, s = grid.outcomes.shape
    base = np.zeros((1, n, s)) if gauged is None else gauged[None]
    loose = _normal_nodes(wanted_gap, model.fault_spread)
    depths = np.array(model.depths)[:, None, None, None]
    found = []
    for key, shape in _fault_shapes(grid, reel).items():
        faults = shape if key == "sound" else (depths * shape).reshape(-1, n, s)
        least = _normal_nodes(wanted_gap, model.set_spread) if key == "sound" else loose
        words = AS_GAUGED if key == "sound" and gauged is not None else _WORDS[key]
        found.append(Cause(key, words, model.odds[key], *_nodes(faults, least, base, key in _IN_THE_REEL)))
    for key, sign in (("low blade", -1.0), ("high blade", 1.0)):
        for b in range(n):
            faults = np.zeros((len(model.depths), n, s))
            faults[:, b] = sign * depths[:, 0, 0]
            nodes = _nodes(faults, loose, base, True)
            words = phrase("blade {blade} low", blade=b + 1) if sign < 0 else phrase("blade {blade} high", blade=b + 1)
            found.append(Cause(f"{key} {b + 1}", words, model.odds[key] / n, *nodes, blade=b))
    none = np.zeros((1, n, s))
    ranges = {"too tight": np.linspace(-0.15, -0.01, 8), "too open": np.geomspace(max(wanted_gap, 0.0) + 0.03, 0.4, 10)}
    for key, least_gap in ranges.items():
        nodes = _nodes(none, (least_gap, np.full(len(least_gap), 1.0 / len(least_gap))), base, False)
        found.append(Cause(key, _WORDS[key], model.odds[key], *nodes))
    shares = np.repeat(np.array(model.blunt_uncut), len(loose[0]))
    opening, least_gap, weight, shape = _nodes(np.repeat(none, len(model.blunt_uncut), axis=0), loose, base, False)
    found.append(Cause("blunt", _WORDS["blunt"], model.odds["blunt"], opening, least_gap, weight, shape, blunt=shares))
    return found
