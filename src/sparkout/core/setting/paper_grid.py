"""A paper proof as it was taken: what each blade did to the strip at each station."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange, all_within, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from sparkout.core.reel.geometry import Reel

OUTCOMES = ("clean", "pinched", "uncut")
"""Index 0, 1, 2 in every array of outcomes; torn and folded strips count as uncut. -1 is not tried."""

NOT_TRIED = -1
_CODES = {
    **{word: code for code, word in enumerate(OUTCOMES)},
    **{word[0]: code for code, word in enumerate(OUTCOMES)},
    "": NOT_TRIED,
    "-": NOT_TRIED,
}


@dataclass(frozen=True, slots=True, eq=False)
class PaperGrid:
    """Outcomes (N, S) as indices into `OUTCOMES` (-1 not tried), stations x (S,) mm, and the paper.

    `thickness` (mm) and `square` (strip held square to the knife, or along it) are None when nobody wrote them down.
    """

    outcomes: NDArray[np.int8]
    stations: NDArray[np.float64]
    length: float
    thickness: float | None = None
    square: bool | None = None

    @property
    def t(self) -> NDArray[np.float64]:
        """Stations as t = 2 x / L - 1, from -1 at the left end to +1 at the right."""
        return 2.0 * self.stations / self.length - 1.0

    @property
    def tried(self) -> NDArray[np.bool_]:
        """Which trials were made, (N, S)."""
        tried: NDArray[np.bool_] = self.outcomes != NOT_TRIED
        return tried


def paper_grid(
    rows: Sequence[str] | Sequence[Sequence[str]],
    stations: ArrayLike,
    reel: Reel,
    *,
    thickness: float | None = None,
    square: bool | None = None,
) -> PaperGrid:
    """Return the grid of a paper proof, checked against its reel.

    Parameters
    ----------
    rows
        One per blade, blade 1 first; each a string of letters (c clean, p pinched, u uncut, - not tried) or a sequence
        of those words ("" not tried).
    stations
        x of each column, mm from the left end, rising.
    reel
        For blade count and length.
    thickness
        Of the paper, mm.
    square
        Whether the strip was held square to the knife.

    Raises
    ------
    OutOfRange
        For a word or a number outside what is allowed.
    Contradiction
        When rows and blades, or columns and stations, do not match.
    NotEnough
        When nothing was tried.

    Examples
    --------
    >>> from sparkout.core.reel.geometry import Reel
    >>> grid = paper_grid(["cc", "cu", "c-"], [0.0, 533.0], Reel(3, 127.0, 533.0))
    >>> grid.outcomes.tolist()
    [[0, 0], [0, 2], [0, -1]]

    References
    ----------
    Common practice, no source: there is no standard for the paper proof.
    """
    at = np.atleast_1d(all_within("stations", stations, 0.0, reel.length, "mm"))
    if at.ndim != 1 or (np.diff(at) <= 0.0).any():
        raise OutOfRange("stations", at.tolist(), phrase("rising from left to right"), "mm")
    if len(rows) != reel.blade_count:
        raise Contradiction(
            ("paper rows", "blade count"),
            phrase(
                "{rows} rows for {blade_count} blades; one row each, - where not tried",
                rows=len(rows),
                blade_count=reel.blade_count,
            ),
        )
    codes = np.full((len(rows), len(at)), NOT_TRIED, dtype=np.int8)
    for b, row in enumerate(rows):
        if len(row) != len(at):
            raise Contradiction(
                (phrase("paper row of blade {blade}", blade=b + 1), "stations"),
                phrase("{outcomes} outcomes for {stations} stations", outcomes=len(row), stations=len(at)),
            )
        for s, word in enumerate(row):
            if word not in _CODES:
                raise OutOfRange(
                    phrase("paper row of blade {blade}, station {station}", blade=b + 1, station=s + 1),
                    word,
                    phrase("clean, pinched, uncut, or - "),
                )
            codes[b, s] = _CODES[word]
    if (codes == NOT_TRIED).all():
        raise NotEnough(phrase("what the paper says"), phrase("at least one trial on the grid"))
    thick = None if thickness is None else within("thickness", thickness, 0.01, 0.5, "mm")
    return PaperGrid(codes, at, reel.length, thick, square)
