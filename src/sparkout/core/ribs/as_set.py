"""From the state of a measured unit to the gaps a stubble map is mown with: the knife set to the reel it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import within
from sparkout.core.reel.parameters import station
from sparkout.core.ribs.stubble_map import knife_over

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.reel.state import ReelState


@dataclass(frozen=True, slots=True, eq=False)
class Gaps:
    """Gap between every blade and the knife (N, S) at stations (S,), mm."""

    stations: NDArray[np.float64]
    gap: NDArray[np.float64]


def gaps_as_set(state: ReelState, least_gap: float = 0.0, places: int = 41) -> Gaps:
    """Return the gaps of a unit whose knife is set as close to its reel as both ends' adjusters can bring it, mm.

    Equation: gap(x, b) = line(x) + bow (1/3 - t²) - r(x, b), the line as `knife_over` of what remains when the knife's
    own bow is taken off the reel.

    Parameters
    ----------
    state
        What is known of the unit (`reel_state`); its expected reel and knife bow are used.
    least_gap
        Left at the closest point, mm, 0 to 1: 0 is the lightest contact.
    places
        How many stations, 3 to 401.

    Raises
    ------
    OutOfRange
        For a number outside its range.

    Validity: the expected unit, not every unit the readings allow: where few readings were taken it is smoother than
    the true one. Adjusters at both ends, so a cone is followed and a frame that is out is set right; a hollow, a bow
    and run-out are not.

    Examples
    --------
    A unit nothing is known of is expected to be true:

    >>> from sparkout.core.reel.geometry import Reel
    >>> from sparkout.core.reel.state import reel_state
    >>> known = reel_state(Reel(11, 127.0, 533.0), [])
    >>> gaps_as_set(known).gap.shape, bool(abs(gaps_as_set(known, 0.02).gap - 0.02).max() < 1e-6)
    ((11, 41), True)

    References
    ----------
    Definitions: docs/decisions/0002-definitions.md; otherwise own working.
    """
    least = within("least_gap", least_gap, 0.0, 1.0, "mm")
    count = int(within("places", places, 3, 401))
    x = np.linspace(0.0, state.reel.length, count)
    radius, _ = state.radius_map(x)
    bow = state.knife_bow.value * (1.0 / 3.0 - station(x, state.reel.length) ** 2)
    return Gaps(x, knife_over(radius - bow, x, least) + bow - radius)
