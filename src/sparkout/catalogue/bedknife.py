"""The bedknife: its edge, its place on the reel, its gap when warm."""

from __future__ import annotations

from sparkout.catalogue.cut import OWN, REEL_DIAMETER
from sparkout.catalogue.entry import Input, Result, calculation


@calculation(
    "knife-edge-stock",
    "Stock to grind for a sharp bedknife edge",
    inputs=(
        Input("edge_radius", "length", "mm", "rounding of the worn edge", 0.0, 5.0),
        Input("top_angle", "angle", "deg", "top-face relief from the seat plane", -30.0, 45.0),
        Input("front_angle", "angle", "deg", "front-face relief from the seat plane's normal", -30.0, 45.0),
        Input("faces", "choice", "", "which faces are ground", choices=("top", "front", "both")),
    ),
    results=(
        Result("included_angle", "angle", "deg", "angle of the edge"),
        Result("stock", "length", "mm", "taken off each ground face, square to it"),
    ),
    equation="β = 90° - top - front; one face: ρ (1 + cos β); both alike: ρ (1 - sin(β/2)) from each",
    source=f"{OWN}; checked against brute-force geometry",
    validity="a round worn edge tangent to both faces",
    example="edge_radius=0.1 top_angle=10 front_angle=5 faces=top",
    caution="Gloves; the ground edge cuts; remove the burr by hand, off the machine.",
)
def knife_edge_stock(edge_radius: float, top_angle: float, front_angle: float, faces: str) -> dict[str, float]:
    """Stock that brings a rounded edge back."""
    from sparkout.core.bedknife.edge import knife_edge_stock

    found = knife_edge_stock(edge_radius, top_angle, front_angle, faces)  # type: ignore[arg-type]
    return {"included_angle": found.included_angle, "stock": found.stock}


@calculation(
    "knife-on-reel",
    "Where the bedknife's edge stands against the reel",
    inputs=(
        REEL_DIAMETER,
        Input("pivot_behind", "length", "mm", "pivot behind the reel's axis", -1000.0, 1000.0),
        Input("pivot_below", "length", "mm", "pivot below the reel's axis", -1000.0, 1000.0),
        Input("arm", "length", "mm", "pivot to edge", 1.0, 1000.0),
        Input("gap", "length", "mm", "edge circle to bedknife edge", -1.0, 20.0),
    ),
    results=(
        Result("behind_centre", "length", "mm", "edge behind the reel's axis"),
        Result("below_centre", "length", "mm", "edge below the reel's axis"),
        Result("approach_angle", "angle", "deg", "edge's place on the reel, from straight below"),
    ),
    equation="edge = arm circle meets circle R + gap; φ = atan2(behind, below)",
    source=f"{OWN}; checked against brute-force geometry",
    validity="edge carried on one pivot",
    example="reel_diameter=127 pivot_behind=50 pivot_below=40 arm=48 gap=0.03",
)
def knife_on_reel(
    reel_diameter: float, pivot_behind: float, pivot_below: float, arm: float, gap: float
) -> dict[str, float]:
    """Place of the edge on the reel."""
    from sparkout.core.setting.pivot import knife_on_reel

    found = knife_on_reel(reel_diameter, pivot_behind, pivot_below, arm, gap)
    return {
        "behind_centre": found.behind_centre,
        "below_centre": found.below_centre,
        "approach_angle": found.approach_angle,
    }


@calculation(
    "gap-change-hot",
    "Change of the gap as the unit warms",
    inputs=(
        REEL_DIAMETER,
        Input("reel_rise", "temperature difference", "K", "reel's rise of temperature", -100.0, 200.0),
        Input("frame_rise", "temperature difference", "K", "frame's rise of temperature", -100.0, 200.0),
        Input("reel_expansion", "expansion", "1/K", "reel's coefficient of expansion", 0.0, 1e-4, default=11.5e-6),
        Input("frame_expansion", "expansion", "1/K", "frame's coefficient of expansion", 0.0, 1e-4, default=11.5e-6),
    ),
    results=(Result("gap_change", "length", "mm", "positive: the gap opens; negative: it closes"),),
    equation="change = R (α_frame ΔT_frame - α_reel ΔT_reel)",
    source="Swyt, J. Res. NIST 99(1), 1994 (steel 11.5e-6 /K, aluminium 23.1e-6 /K)",
    validity="radius only; uniform temperature in each part",
    example="reel_diameter=127 reel_rise=30 frame_rise=10",
)
def gap_change_hot(
    reel_diameter: float, reel_rise: float, frame_rise: float, reel_expansion: float, frame_expansion: float
) -> dict[str, float]:
    """Change of the gap by heat."""
    from sparkout.core.setting.heat import gap_change_hot

    return {"gap_change": gap_change_hot(reel_diameter, reel_rise, frame_rise, reel_expansion, frame_expansion)}


ENTRIES = (knife_edge_stock, knife_on_reel, gap_change_hot)
