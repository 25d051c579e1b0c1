"""What a spin-grind plan says: its set-up, its passes, what is left."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from sparkout.core.grinding.finish import Trade
    from sparkout.core.grinding.removal import Removal
    from sparkout.core.grinding.schedule import Kind
    from sparkout.core.grinding.setup import AdjusterMove, TouchOff
    from sparkout.core.grinding.wheel import SpeedCheck
    from sparkout.core.measured import Measured

CAUTIONS = ("set up grinder", "wheel mounting", "spin grind", "dust")
"""Steps whose cautions belong beside a spin-grind plan."""

Place = Literal["left", "middle", "right"]
PLACES: tuple[Place, Place, Place] = ("left", "middle", "right")


@dataclass(frozen=True, slots=True)
class EndStock:
    """Radial stock over the blades at one place along the reel, mm; negative where a blade stays uncleaned."""

    place: Place
    least: float
    most: float


@dataclass(frozen=True, slots=True)
class SetUp:
    """Adjuster move from a reel set by its outside; what the touch-off must then show (highest blade of each end).

    Prove parallel on journals or bearing seats all the same: setting by worn blades copies the cone.
    """

    move: AdjusterMove
    divisions: float
    touch_off: TouchOff


@dataclass(frozen=True, slots=True)
class SpinPass:
    """One pass: what is dialled, what the wheel meets, what it costs; mm, s, mm^3."""

    number: int
    kind: Kind
    infeed: float
    """To dial in before this pass, radial; wheel loss of the pass before included."""
    dial_total: float
    """Running total of the infeeds, from first touch."""
    wheel_radius: float
    """Distance of the wheel's rim from the bearing axis at the start of the pass."""
    touched: float
    largest_bite: float
    mean_bite: float
    removal: Removal
    """Where the pass takes most."""
    volume: float
    time: float
    wheel_loss: float


@dataclass(frozen=True, slots=True)
class LandAfter:
    """Land at one place before and after, mm; `relief_due` is None when the workshop has set no limit."""

    place: Place
    before: Measured
    after: Measured
    relief_due: bool | None
    relief_gone: bool


@dataclass(frozen=True, slots=True)
class GrindsLeft:
    """Whole grinds like this one before the service limit: expected, and a low and a high count."""

    expected: int
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class SpinPlan:
    """A spin grind worked out; lengths mm, times s, volumes mm^3; radii from the bearing axis."""

    finish_radius: Measured
    finish_diameter: Measured
    uncleaned_share: float
    chance_fully_clean: float | None
    """Chance that the lowest point cleans up, from its uncertainty; None when some edge is meant to stay uncleaned."""
    trade: Trade
    heaviest_stock: float
    lightest_stock: float
    stock_by_end: tuple[EndStock, EndStock, EndStock]
    set_up: SetUp
    speed_check: SpeedCheck | None
    """None when the wheel's marked maximum is not known: then it must be asked for before the wheel runs."""
    overlap: float
    passes: tuple[SpinPass, ...]
    volume: float
    time: float
    wheel_loss: float
    as_left: NDArray[np.float64]
    as_left_run_out: float
    as_left_cone: float
    cone_from_wheel: float
    """Part of the cone as left that the wheel's own loss grinds in."""
    cone_from_one_traverse: float
    """What it would be without spark-out or change of direction: the worst single traverse."""
    residue: float
    """Height left standing above the wheel at the highest point, after spark-out."""
    spark_out_factor: float
    """(1 - kappa)^m."""
    residue_if_give_low: float
    """The same should the give be two standard uncertainties lower than thought."""
    run_out_met: bool | None
    cone_met: bool | None
    above_service: Measured
    """Finish diameter less the least service diameter."""
    grinds_left: GrindsLeft
    land: tuple[LandAfter, LandAfter, LandAfter]
    relief_due: bool | None
    cautions: tuple[str, ...] = CAUTIONS
