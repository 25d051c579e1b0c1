"""What heat does to a setting made cold. Imports `math` only, and not even that."""

from __future__ import annotations

from sparkout.core.errors import within

EXPANSION = {"steel": 11.5e-6, "aluminium": 23.1e-6}
"""Linear expansion, 1/K. Swyt, J. Res. NIST 99(1), 1994. Alloys differ: the part's own figure is better."""


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
