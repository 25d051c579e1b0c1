"""A limit: what a quantity is held against, whose limit it is, and the risk its owner accepts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.core.errors import Contradiction, NotEnough, Refusal, within
from sparkout.core.phrase import AsTyped, phrase

if TYPE_CHECKING:
    from datetime import date

ORIGINS = ("house", "practice", "machine's book", "standard")
"""Where a limit can come from; free text may follow, as in "house: bowling greens"."""


@dataclass(frozen=True, slots=True)
class Limit:
    """The zone a quantity must lie in (core units; either side may be open), with its origin and accepted risk.

    `risk` is the accepted chance of passing what should fail; 5 % unless the workshop says otherwise.

    Raises
    ------
    NotEnough
        When neither side is given.
    Contradiction
        When lower is not below upper.
    Refusal
        When the quantity or the origin is empty: a limit nobody owns is not a limit.
    OutOfRange
        When a side is not finite or the risk is outside 0.000001 to 0.5.

    Examples
    --------
    >>> Limit("cone", -0.05, 0.05, origin="house: greens reels").risk
    0.05
    """

    quantity: str
    lower: float | None
    upper: float | None
    origin: str
    set_by: str = ""
    on: date | None = None
    risk: float = 0.05

    def __post_init__(self) -> None:
        if not self.quantity.strip():
            raise Refusal(phrase("a limit must name its quantity"))
        if not self.origin.strip():
            raise Refusal(
                phrase(
                    "the limit on {quantity} must say where it comes from: {origins}",
                    quantity=self.quantity,
                    origins=AsTyped(", ".join(ORIGINS)),
                )
            )
        check_sides(self.lower, self.upper, self.quantity)
        within("risk", self.risk, 1e-6, 0.5)


def check_sides(lower: float | None, upper: float | None, quantity: str) -> None:
    """Refuse a zone without a side, with a side that is not finite, or with its sides out of order."""
    if lower is None and upper is None:
        raise NotEnough(phrase("conformity of {quantity}", quantity=quantity), phrase("a lower or an upper limit"))
    if lower is not None:
        within("lower", lower)
    if upper is not None:
        within("upper", upper)
    if lower is not None and upper is not None and lower >= upper:
        raise Contradiction(
            (phrase("lower {lower:g}", lower=lower), phrase("upper {upper:g}", upper=upper)),
            phrase("the lower limit must be below the upper"),
        )
