"""How a unit stands after work on it (reel or knife ground, knife or rollers changed), and over a reel's life."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from sparkout.core.errors import OutOfRange, within
from sparkout.core.phrase import phrase
from sparkout.core.setting.clicks import Ends
from sparkout.core.setting.height import EdgeShift
from sparkout.core.stance.moves import Moves, RollerAdjuster, moves_to
from sparkout.core.stance.section import Roller, Section, closed, with_knife_shifted
from sparkout.core.stance.standing import stance_at
from sparkout.core.stance.unit import CuttingUnit, Stance, stance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


_NONE, _STAYS = Ends(0.0, 0.0), EdgeShift(0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Work:
    """What is done to a unit, mm; all may be left out."""

    radius_loss: Ends = _NONE
    """Off the reel's radius at the left and the right end."""
    shift: EdgeShift = _STAYS
    """Of the edge in its holder, from `edge_shift` (ground faces), or as another knife differs."""
    front_diameter: float = 0.0
    """Change of the front roller's diameter: negative when worn, positive when a larger one is fitted."""
    rear_diameter: float = 0.0


@dataclass(frozen=True, slots=True)
class AfterWork:
    """A unit before work, after it with rollers untouched, and with its height put right again."""

    before: Stance
    after: Stance
    """Gap closed again, rollers as they were."""
    unit: CuttingUnit
    moves: Moves | None
    """What puts the height (and the attitude) right; None without an adjuster."""


def after_work(
    unit: CuttingUnit,
    work: Work,
    *,
    height: float | None = None,
    keep_attitude: bool = False,
    front: RollerAdjuster | None = None,
    rear: RollerAdjuster | None = None,
) -> AfterWork:
    """Return how a unit stands after work, and what to turn so that it stands at the height wanted.

    Equation: radius, edge and rollers changed, the gap `closed` by the part that moves, `stance`, then `moves_to`.

    Parameters
    ----------
    unit
        As it stands before, gap closed.
    work
        What is done.
    height
        Height of cut wanted afterwards, mm; the one before, mean of both ends, unless given.
    keep_attitude
        Whether the attitude is to be as before too, which takes adjusters at both rollers.
    front, rear
        Adjusters, as in `moves_to`.

    Raises
    ------
    OutOfRange, Contradiction, NotEnough
        As `closed`, `stance` and `moves_to`.

    Validity: as those.

    Examples
    --------
    1 mm off the radius of a unit whose knife slides up to the reel: it cuts 1 mm higher until the front roller is up.

    >>> from sparkout.core.stance.section import Closing, Point
    >>> parts = Roller(-80.0, 35.0, 64.0), Roller(90.0, 42.0, 50.0), Closing("knife up")
    >>> end = closed(Section(127.0, Point(0.0, 0.0), Point(8.0, 63.0), *parts))
    >>> plan = after_work(CuttingUnit(end, end, 533.0), Work(Ends(1.0, 1.0)), front=RollerAdjuster(1.5))
    >>> round(plan.after.left.height_of_cut - plan.before.left.height_of_cut, 2)
    1.01
    >>> round(plan.moves.front.left.turns, 2), round(plan.moves.after.left.behind_centre, 2)
    (-1.4, 8.76)

    References
    ----------
    Geometry, own working.
    """
    before = stance(unit)
    left, right = (
        _worked(section, within(f"{side} radius_loss", loss, -50.0, 100.0, "mm"), work)
        for side, section, loss in zip(("left", "right"), unit.sections, work.radius_loss, strict=True)
    )
    changed = replace(unit, left=left, right=right)
    after = stance(changed)
    if front is None and rear is None:
        return AfterWork(before, after, changed, None)
    wanted = before.middle.height_of_cut if height is None else height
    attitude = before.middle.attitude if keep_attitude else None
    return AfterWork(before, after, changed, moves_to(changed, wanted, attitude=attitude, front=front, rear=rear))


def _worked(section: Section, radius_loss: float, work: Work) -> Section:
    front, rear = (
        Roller(r.behind, r.below, r.diameter + change)
        for r, change in ((section.front, work.front_diameter), (section.rear, work.rear_diameter))
    )
    smaller = section.reel_diameter - 2.0 * radius_loss
    return closed(with_knife_shifted(replace(section, reel_diameter=smaller, front=front, rear=rear), work.shift))


class LifePath(NamedTuple):
    """A unit from its reel's diameter now down to the limit; one value per diameter, mm and rad."""

    diameter: NDArray[np.float64]
    height_of_cut: NDArray[np.float64]
    """Rollers untouched."""
    behind_centre: NDArray[np.float64]
    reach: NDArray[np.float64]
    reel_clearance: NDArray[np.float64]
    attitude: NDArray[np.float64]
    top_clearance: NDArray[np.float64]
    travel: NDArray[np.float64]
    """Of the roller, down positive, counted from now, to keep the height as now; nan without an adjuster."""
    kept_behind_centre: NDArray[np.float64]
    """With the height kept."""
    kept_attitude: NDArray[np.float64]
    kept_reach: NDArray[np.float64]


def through_life(
    section: Section,
    limit_diameter: float,
    *,
    front: RollerAdjuster | None = None,
    rear: RollerAdjuster | None = None,
    steps: int = 41,
) -> LifePath:
    """Return how a unit's stance moves as its reel goes down to the limit, with rollers untouched and with height kept.

    Equation: `closed` and `stance_at` at each diameter, `moves_to` the height as now; the knife unground.

    Parameters
    ----------
    section
        As it stands now, gap closed (both ends alike).
    limit_diameter
        mm, below the diameter now.
    front, rear
        Adjuster of the roller that keeps the height; the front one when both are given.
    steps
        How many diameters, 2 to 10 000.

    Raises
    ------
    OutOfRange, Contradiction
        When the limit is not below the diameter now; as `closed` and `stance_at`.

    Validity: as those; an adjuster's range is not looked at: the travel told shows what range is needed.

    Examples
    --------
    >>> from sparkout.core.stance.section import Closing, Point
    >>> parts = Roller(-80.0, 35.0, 64.0), Roller(90.0, 42.0, 50.0), Closing("knife up")
    >>> now = closed(Section(127.0, Point(0.0, 0.0), Point(8.0, 63.0), *parts))
    >>> path = through_life(now, 120.0, front=RollerAdjuster(1.5), steps=2)
    >>> path.height_of_cut.round(2).tolist(), path.travel.round(2).tolist(), path.kept_reach.round(2).tolist()
    ([4.01, 7.54], [0.0, -7.37], [0.51, 0.94])

    References
    ----------
    Geometry, own working.
    """
    import numpy as np

    least = within("limit_diameter", limit_diameter, 40.0, 600.0, "mm")
    if least >= section.reel_diameter:
        allowed = phrase("below the diameter now, {now:.6g}", now=section.reel_diameter)
        raise OutOfRange("limit_diameter", least, allowed, "mm")
    diameters = np.linspace(section.reel_diameter, least, int(within("steps", steps, 2, 10_000)))
    keeper = front or rear
    free = None if keeper is None else RollerAdjuster(keeper.pitch, keeper.slide)
    rows = [_row(closed(replace(section, reel_diameter=float(d))), section, front is not None, free) for d in diameters]
    return LifePath(diameters, *np.array(rows).T)


def _row(worn: Section, now: Section, by_front: bool, keeper: RollerAdjuster | None) -> tuple[float, ...]:
    at = stance_at(worn)
    seen = at.height_of_cut, at.behind_centre, at.reach, at.reel_clearance, at.attitude, at.top_clearance
    if keeper is None:
        return (*seen, *[float("nan")] * 4)
    unit, height = CuttingUnit(worn, worn, 500.0), stance_at(now).height_of_cut
    plan = moves_to(unit, height, front=keeper) if by_front else moves_to(unit, height, rear=keeper)
    pair = plan.front or plan.rear
    assert pair is not None  # one adjuster was given
    kept = plan.after.left
    return (*seen, pair.left.travel, kept.behind_centre, kept.attitude, kept.reach)
