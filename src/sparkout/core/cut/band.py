"""The workshop's own band of clip for a height of cut, and the speeds that keep to it. Imports `math` only."""

from __future__ import annotations

from typing import Literal, NamedTuple

from sparkout.core.cut.clip import reel_speed_for_clip
from sparkout.core.cut.drive import travel_speed_for_clip
from sparkout.core.errors import Contradiction, Refusal, within
from sparkout.core.phrase import phrase

STANDING = phrase(
    "That clip should be about the height of cut is common practice without a trial behind it, and greens mowers at "
    "today's heights do not keep it: the band is the workshop's own."
)
"""Stands beside every band."""
Lies = Literal["finer", "within", "coarser"]


class ClipBand(NamedTuple):
    """Finest and coarsest clip the workshop wants at a height of cut, mm, and whose band it is."""

    finest: float
    coarsest: float
    origin: str
    standing: str = STANDING

    def lies(self, clip: float) -> Lies:
        """Say where a clip lies.

        Examples
        --------
        >>> clip_band(4.0, 0.8, 1.2, "house: greens").lies(5.05)
        'coarser'
        """
        wanted = within("clip", clip, 0.0, 10_000.0, "mm", above=True)
        return "finer" if wanted < self.finest else "coarser" if wanted > self.coarsest else "within"

    def reel_speeds(self, travel_speed: float, blade_count: int) -> tuple[float, float]:
        """Slowest and fastest reel speed that keep to the band at a travel speed, rad/s.

        Examples
        --------
        >>> [round(w * 9.5493) for w in clip_band(4.0, 0.8, 1.2, "house").reel_speeds(1250.0, 11)]
        [1420, 2131]
        """
        return (
            reel_speed_for_clip(travel_speed, blade_count, self.coarsest),
            reel_speed_for_clip(travel_speed, blade_count, self.finest),
        )

    def travel_speeds(self, reel_speed: float, blade_count: int) -> tuple[float, float]:
        """Slowest and fastest travel that keep to the band at a reel speed, mm/s.

        Examples
        --------
        >>> [round(v) for v in clip_band(4.0, 0.8, 1.2, "house").travel_speeds(157.08, 11)]
        [880, 1320]
        """
        return (
            travel_speed_for_clip(reel_speed, blade_count, self.finest),
            travel_speed_for_clip(reel_speed, blade_count, self.coarsest),
        )


def clip_band(height_of_cut: float, least_share: float, most_share: float, origin: str) -> ClipBand:
    """Return the band of clip for a height of cut, mm.

    Equation: finest = least_share H, coarsest = most_share H.

    Parameters
    ----------
    height_of_cut
        H, mm, above 0.
    least_share, most_share
        The workshop's own shares of the height, above 0 to 10.
    origin
        Whose band it is ("house", "practice", "machine's book" ..., free text may follow). Never empty.

    Raises
    ------
    OutOfRange
        For any number outside its range.
    Contradiction
        When least_share is not below most_share.
    Refusal
        Without an origin: a limit nobody owns is not a limit.

    Validity: see `STANDING`.

    Examples
    --------
    >>> band = clip_band(12.0, 0.5, 1.0, "house: square")
    >>> band.finest, band.coarsest
    (6.0, 12.0)

    References
    ----------
    Common practice, no source. The one neutral figure found, about 85 cuts per metre for a square kept at 12 to 18 mm
    (Grounds Management Association, mowing the cricket square), is a clip just under the lower height.
    """
    height = within("height_of_cut", height_of_cut, 0.0, 500.0, "mm", above=True)
    least = within("least_share", least_share, 0.0, 10.0, above=True)
    most = within("most_share", most_share, 0.0, 10.0, above=True)
    if least >= most:
        raise Contradiction(("least_share", "most_share"), phrase("the first must be below the second"))
    return own_band(least * height, most * height, origin)


def own_band(finest: float, coarsest: float, origin: str) -> ClipBand:
    """Return the band between two clips of the workshop's own, mm.

    Raises
    ------
    OutOfRange
        For a clip not above 0.
    Contradiction
        When the finest is not below the coarsest.
    Refusal
        Without an origin: a limit nobody owns is not a limit.

    Examples
    --------
    >>> own_band(3.2, 4.8, "house: greens").lies(4.0)
    'within'
    """
    low = within("finest", finest, 0.0, 10_000.0, "mm", above=True)
    high = within("coarsest", coarsest, 0.0, 10_000.0, "mm", above=True)
    if low >= high:
        raise Contradiction(("finest", "coarsest"), phrase("the first must be below the second"))
    if not origin.strip():
        raise Refusal(phrase("the band of clip must say where it comes from"))
    return ClipBand(low, high, origin)
