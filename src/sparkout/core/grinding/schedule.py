"""The list of infeeds: rough, finish, spark-out."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from sparkout.core.errors import OutOfRange, Refusal, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from numpy.typing import NDArray

Kind = Literal["rough", "finish", "spark-out"]
_MOST_PASSES = 3000
_MOST_SPARK_OUTS = 200


@dataclass(frozen=True, slots=True)
class Schedule:
    """Wheel position of every pass, mm from the bearing axis, and its kind."""

    wheel: NDArray[np.float64]
    kinds: tuple[Kind, ...]

    @property
    def infeed_passes(self) -> int:
        """How many passes come before the spark-out."""
        return sum(kind != "spark-out" for kind in self.kinds)


def lag_after(steps: NDArray[np.float64], give: float) -> float:
    """Height left above the wheel at the highest point after these infeeds: e -> (1 - kappa)(e + step), mm.

    >>> round(lag_after(np.full(200, 0.01), 0.7), 9) == round(0.01 * 0.3 / 0.7, 9)
    True

    References: definition of the give; in steady infeed the lag is step (1 - kappa) / kappa.
    """
    lag = 0.0
    for step in steps.tolist():
        lag = (1.0 - give) * (lag + step)
    return lag


def infeeds(stock: float, rough_infeed: float, finish_infeed: float) -> tuple[list[float], int]:
    """Infeed of every pass before spark-out, mm, and how many of them are finish passes.

    Finish passes take at least one rough infeed between them, and at least two are made (common practice, no
    source). The first pass takes the odd amount: it meets only the highest spots.

    >>> [round(step, 6) for step in infeeds(0.045, 0.02, 0.01)[0]]
    [0.005, 0.02, 0.01, 0.01]

    Raises
    ------
    OutOfRange
        When the infeed would need thousands of passes for this stock.
    """
    within("stock", stock, 0.0, 20.0, "mm", above=True)
    finishing = max(2, math.ceil(rough_infeed / finish_infeed - 1e-9))
    finishing = min(finishing, math.ceil(stock / finish_infeed - 1e-9))
    rest = stock - finishing * finish_infeed
    roughing = math.ceil(rest / rough_infeed - 1e-9) if rest > 0.0 else 0
    if roughing + finishing > _MOST_PASSES:
        raise OutOfRange(
            "rough_infeed",
            rough_infeed,
            phrase("at least {least:.2g} for this stock", least=stock / _MOST_PASSES),
            "mm",
        )
    steps = [rough_infeed] * roughing + [finish_infeed] * finishing
    steps[0] += stock - sum(steps)
    return steps, finishing


def schedule(
    highest: float,
    finish: float,
    *,
    rough_infeed: float,
    finish_infeed: float,
    spark_out_passes: int,
    give: float,
    lag_allowed: float,
) -> Schedule:
    """Wheel positions from first touch to spark-out.

    Spark-out is made longer than asked when the lag at the highest point would otherwise stay above `lag_allowed`:
    it falls as (1 - kappa)^m.

    >>> feeds = {"rough_infeed": 0.01, "finish_infeed": 0.005, "spark_out_passes": 2}
    >>> plan = schedule(60.03, 60.0, **feeds, give=0.7, lag_allowed=0.01)
    >>> plan.kinds
    ('rough', 'rough', 'finish', 'finish', 'spark-out', 'spark-out')

    Raises
    ------
    Refusal
        When nothing stands above the finish.
    OutOfRange
        When a give this small could not spark out to the limit.

    References: geometry and the definition of the give, own working.
    """
    if highest <= finish:
        raise Refusal(phrase("Nothing stands above the finish radius, so there is nothing to grind."))
    steps, finishing = infeeds(highest - finish, rough_infeed, finish_infeed)
    lag = lag_after(np.array(steps), give)
    sparks = spark_out_passes
    if give < 1.0 and lag > lag_allowed:
        sparks = max(sparks, math.ceil(math.log(lag_allowed / lag) / math.log(1.0 - give)))
    if sparks > _MOST_SPARK_OUTS:
        raise OutOfRange(
            "give",
            give,
            phrase(
                "large enough to reach the limit within {most} spark-out passes",
                most=_MOST_SPARK_OUTS,
            ),
        )
    wheel = np.maximum(highest - np.cumsum(steps), finish)
    wheel[-1] = finish
    times: dict[Kind, int] = {"rough": len(steps) - finishing, "finish": finishing, "spark-out": sparks}
    kinds = tuple(kind for kind, count in times.items() for _ in range(count))
    return Schedule(np.concatenate([wheel, np.full(sparks, finish)]), kinds)
