"""The whole answer for one visit: numbers and plain texts in the code's own words; doors only show it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from sparkout.core.bedknife.life import KnifePlan
    from sparkout.core.cautions import Caution
    from sparkout.core.grinding.learn import Compared, Learned
    from sparkout.core.grinding.plan import SpinPlan
    from sparkout.core.grinding.relief import ReliefPlan
    from sparkout.core.measured import Measured
    from sparkout.core.reel.geometry import Reel
    from sparkout.core.reel.simulated import LowestPoint, Simulated
    from sparkout.core.reel.state import Confusion, ReelState
    from sparkout.core.setting.clicks import AttitudeChange, ClicksToClose
    from sparkout.core.setting.height import HeightEffect
    from sparkout.core.setting.paper import PaperEvidence
    from sparkout.core.setting.pivot import KnifeOnReel
    from sparkout.core.verdict.conformity import Verdict
    from sparkout.core.verdict.limit import Limit
    from sparkout.core.verdict.next_reading import Candidate, Prospect
    from sparkout.reckoning.bearings import BearingsFound
    from sparkout.reckoning.given import Given
    from sparkout.reckoning.readings import Meaning
    from sparkout.reckoning.stance import StanceFound
    from sparkout.visit.entered import Place
    from sparkout.visit.problems import Question
    from sparkout.visit.schema import Visit


@dataclass(frozen=True, slots=True)
class Untold:
    """A part that cannot be answered from what is on file: why, and what would make an answer possible."""

    what: str
    wanted: str


@dataclass(frozen=True, slots=True)
class Judged:
    """One limit and how the unit stands against it; `note` says what a number alone would hide."""

    limit: Limit
    quantity: str
    kind: str
    measured: Measured | None
    interval: tuple[float, float] | None
    verdict: Verdict | None
    next_reading: Prospect | None
    note: str


@dataclass(frozen=True, slots=True, eq=False)
class Diagnosis:
    """The state of the reel with what is drawn and told of it; lengths mm."""

    state: ReelState
    stations: NDArray[np.float64]
    heights: NDArray[np.float64]
    """Radius of each blade at each station, best estimate, (N, S)."""
    heights_sd: NDArray[np.float64]
    lowest: LowestPoint
    run_out: tuple[tuple[float, Simulated], ...]
    """Circular run-out at left end, centre and right end, each with its x."""
    total_run_out: Simulated
    shaft_bend: Simulated
    informed: frozenset[str]
    """Names of the quantities that some reading bears on; the others only repeat what was expected beforehand."""
    possible: tuple[Candidate, ...]
    """Readings that could still be taken with the gauges at hand; repeats of what is on file say so."""
    apart: tuple[Confusion, ...]
    """Explanations that lead to different work and cannot be told apart yet, each with the reading that would."""


@dataclass(frozen=True, slots=True, eq=False)
class Spin:
    """The spin-grind plan with what has to be said beside it."""

    plan: SpinPlan
    service_diameter: float
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Setting:
    """Knife to reel: gap per click, clicks at each end, attitude before and after."""

    gap_per_click: float | None
    clicks: ClicksToClose | None
    stand_before: KnifeOnReel | None
    attitude: AttitudeChange | None
    height: HeightEffect | None
    wanted_gap: float
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """One paper proof read as evidence."""

    when: str
    stations: tuple[Place, ...]
    outcomes: tuple[tuple[str, ...], ...]
    evidence: PaperEvidence


@dataclass(frozen=True, slots=True, eq=False)
class AsLeft:
    """After the grind: prediction beside result, and what the grinder has taught."""

    diagnosis: Diagnosis
    compared: tuple[Compared, ...]
    learned: Learned | None
    judged: tuple[Judged, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """What the readings say and what a spin grind would take: all that the rest of the answer follows from."""

    visit: Visit
    given: Given
    reel: Reel
    readings: tuple[Meaning, ...]
    questions: tuple[Question, ...]
    diagnosis: Diagnosis
    judged: tuple[Judged, ...]
    spin: Spin | Untold
    cautions: dict[str, tuple[Caution, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class Answer(Found):
    """Everything Sparkout has to say about one visit."""

    assumed: tuple[str, ...]
    bearings: BearingsFound | None
    """None: nothing was read of them."""
    relief: ReliefPlan | Untold
    knife: KnifePlan | Untold
    setting: Setting | Untold
    stance: StanceFound | Untold
    proofs: tuple[Proof, ...]
    as_left: AsLeft | None
