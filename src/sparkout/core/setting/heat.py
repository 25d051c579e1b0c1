"""What heat does to a setting made cold, and what to set cold. Imports no numpy."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from sparkout.core.errors import NotEnough, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import Phrase, phrase

EXPANSION = {"steel": 11.5e-6, "aluminium": 23.1e-6}
"""Linear expansion, 1/K. Swyt, J. Res. NIST 99(1), 1994. Alloys differ: the part's own figure is better."""

EXPANSION_U = 2e-6 / math.sqrt(3.0)
"""Standard uncertainty of such a figure where nothing better is known, 1/K: a steel's may lie anywhere within 2e-6 of
11.5e-6 (JCGM 100:2008 H.1.3.4). For other metals the same is taken: own choice."""

CAUTION = phrase(
    "Stop and isolate before setting: a reel that has run is hot, and a blade moved at one place moves all of them. "
    "Look at the gap again warm."
)


def gap_change_hot(
    reel_diameter: float,
    reel_rise: float,
    frame_rise: float,
    reel_expansion: float = EXPANSION["steel"],
    frame_expansion: float = EXPANSION["steel"],
) -> float:
    """Return the change of gap, mm, when reel and frame have warmed; positive: the gap opens.

    Equation: dc = R (alpha_frame dT_frame - alpha_reel dT_reel). The frame carries the knife at the reel's radius from
    the axis, so it moves the knife away by its own growth over that distance.

    Parameters
    ----------
    reel_diameter
        2 R, mm.
    reel_rise, frame_rise
        Temperature now less temperature when set, K.
    reel_expansion, frame_expansion
        Linear expansion coefficients, 1/K.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: each part at one temperature throughout; bearings and adjusters left out.

    Examples
    --------
    A steel reel 30 K warmer in a frame still cold: the gap closes by 0.022 mm, about a light setting's whole gap.

    >>> round(gap_change_hot(125.0, 30.0, 0.0), 4)
    -0.0216

    References
    ----------
    Definition of linear expansion, dL = alpha L dT; coefficients: Swyt, J. Res. NIST 99(1), 1994.
    """
    radius = within("reel_diameter", reel_diameter, 40.0, 600.0, "mm") / 2.0
    reel = within("reel_rise", reel_rise, -150.0, 300.0, "K") * within(
        "reel_expansion", reel_expansion, 0.0, 1e-4, "1/K"
    )
    frame = within("frame_rise", frame_rise, -150.0, 300.0, "K") * within(
        "frame_expansion", frame_expansion, 0.0, 1e-4, "1/K"
    )
    return radius * (frame - reel)


class Warming(NamedTuple):
    """How far reel and frame have warmed since the gap was set, K; negative: cooled."""

    reel: Measured
    frame: Measured


@dataclass(frozen=True, slots=True)
class GapHot:
    """The gap warm, what heat adds, and what each input contributes to its uncertainty (c_i u_i, signed), mm."""

    gap: Measured
    change: Measured
    components: dict[str, float]


@dataclass(frozen=True, slots=True)
class ColdSetting:
    """What to set cold so that the tightest of the states to come has the gap wanted, mm."""

    gap: Measured
    tightest: int
    """Which of the states that is."""
    warm: tuple[Measured, ...]
    """The gap in each of the states."""
    touches_cold: bool
    """The gap to set lies below 0: reel and knife would be pressed together cold."""
    notes: tuple[Phrase, ...]
    caution: Phrase = CAUTION


def gap_hot(
    gap_cold: Measured,
    reel_diameter: Measured,
    warming: Warming,
    reel_expansion: Measured | None = None,
    frame_expansion: Measured | None = None,
) -> GapHot:
    """Return the gap when reel and frame have warmed, with its uncertainty.

    Equation: c_hot = c + R (alpha_f dT_f - alpha_r dT_r); u² = u_c² + (alpha_f dT_f - alpha_r dT_r)² u_R²
    + R² [(dT_f u_alpha_f)² + (alpha_f u_dT_f)² + (dT_r u_alpha_r)² + (alpha_r u_dT_r)²]. Where reel and frame are told
    by one coefficient (both left out, or the same object), its uncertainty counts once, on dT_f - dT_r.

    Parameters
    ----------
    gap_cold
        As set, mm.
    reel_diameter
        2 R, mm.
    warming
        Rise of the reel and of the frame since, K.
    reel_expansion, frame_expansion
        1/K; steel with its usual uncertainty unless given.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: as `gap_change_hot`; inputs independent; products of uncertainties left out.

    Examples
    --------
    Set at 0.05 mm; an hour on the green and the reel is 30 K warmer, the frame 10 K:

    >>> warm = Warming(Measured(30.0, 3.0), Measured(10.0, 3.0))
    >>> hot = gap_hot(Measured(0.05, 0.005), Measured(125.0, 0.1), warm)
    >>> round(hot.gap.value, 4), round(hot.gap.u, 4), round(hot.change.value, 4)
    (0.0356, 0.006, -0.0144)

    References
    ----------
    As `gap_change_hot`; JCGM 100:2008, 5.1.2 (from memory).
    """
    gap = within("gap_cold", gap_cold.value, -2.0, 20.0, "mm")
    steel = Measured(EXPANSION["steel"], EXPANSION_U)
    reel_alpha, frame_alpha = reel_expansion or steel, frame_expansion or steel
    change = gap_change_hot(
        reel_diameter.value, warming.reel.value, warming.frame.value, reel_alpha.value, frame_alpha.value
    )
    radius = reel_diameter.value / 2.0
    parts = {
        "reel_diameter": change / radius * reel_diameter.u / 2.0,
        "reel_rise": -radius * reel_alpha.value * warming.reel.u,
        "frame_rise": radius * frame_alpha.value * warming.frame.u,
    }
    if reel_alpha is frame_alpha:
        parts["expansion"] = radius * (warming.frame.value - warming.reel.value) * reel_alpha.u
    else:
        parts["reel_expansion"] = -radius * warming.reel.value * reel_alpha.u
        parts["frame_expansion"] = radius * warming.frame.value * frame_alpha.u
    u = math.hypot(*parts.values())
    return GapHot(
        Measured(gap + change, math.hypot(u, gap_cold.u)), Measured(change, u), {"gap_cold": gap_cold.u, **parts}
    )


def gap_to_set_cold(
    wanted: float,
    reel_diameter: Measured,
    warming: Sequence[Warming],
    reel_expansion: Measured | None = None,
    frame_expansion: Measured | None = None,
) -> ColdSetting:
    """Return the gap to set cold so that in the tightest of the states to come the gap is as wanted.

    Equation: c = wanted - min over the states of R (alpha_f dT_f - alpha_r dT_r).

    Parameters
    ----------
    wanted
        Least gap in any of the states, mm.
    reel_diameter, reel_expansion, frame_expansion
        As `gap_hot`.
    warming
        The states to come. A reel warms before its frame does: give that state too (reel warm, frame still cold), it
        is usually the tightest.

    Raises
    ------
    NotEnough
        No state.
    OutOfRange
        For any argument outside its range.

    Validity: as `gap_hot`. The uncertainty told is that of the warm gap when the cold one is set exactly.

    Examples
    --------
    Half an hour in, the reel is 25 K warmer and the frame still cold; later both are warm:

    >>> states = [Warming(Measured(25.0, 3.0), Measured(0.0, 1.0)), Warming(Measured(30.0, 3.0), Measured(20.0, 3.0))]
    >>> cold = gap_to_set_cold(0.03, Measured(125.0, 0.1), states)
    >>> round(cold.gap.value, 3), cold.tightest, [round(gap.value, 3) for gap in cold.warm]
    (0.048, 0, [0.03, 0.041])

    References
    ----------
    As `gap_hot`.
    """
    if not warming:
        raise NotEnough("what to set cold", phrase("how warm reel and frame become"))
    aim = within("wanted", wanted, -0.5, 2.0, "mm")
    changes = [
        gap_hot(Measured(0.0, 0.0), reel_diameter, state, reel_expansion, frame_expansion).change for state in warming
    ]
    tightest = min(range(len(changes)), key=lambda i: changes[i].value)
    cold = aim - changes[tightest].value
    notes = []
    if cold < 0.0:
        notes.append(phrase("Cold, the knife would press on the reel: set it warm instead, when the gap has opened."))
    if 2.0 * changes[tightest].u > abs(aim):
        notes.append(
            phrase("The temperatures are not known well enough to tell a gap this small: look at it again warm.")
        )
    warm = tuple(Measured(cold + change.value, change.u) for change in changes)
    return ColdSetting(Measured(cold, changes[tightest].u), tightest, warm, cold < 0.0, tuple(notes))
