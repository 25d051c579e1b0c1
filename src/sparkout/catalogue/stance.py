"""How a cutting unit stands: height of cut, attitude, level; turns at the rollers; matching; gap warm and cold."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.catalogue.cut import OWN, REEL_DIAMETER
from sparkout.catalogue.entry import Input, Result, calculation

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sparkout.core.stance.given import OnBench
    from sparkout.core.stance.moves import Moves

TILTED = f"{OWN}; checked against sampled parts tilted until they stand"
BENCH = "flat hard bench; round rollers; on turf a unit sinks or rides by what no bench shows"
CAUTION = (
    "Engine stopped, key out or isolated; unit supported so that it cannot drop; hands clear of the reel: a blade "
    "moved at one place moves all of them."
)
LENGTH = Input("reel_length", "length", "mm", "blade length along the axis", 50.0, 3000.0)
PATTERN = Input(
    "pattern", "choice", "", "which part the adjuster moves to close the gap", choices=("knife up", "reel down")
)
FRONT_DIAMETER = Input("front_diameter", "length", "mm", "front roller, over its ridges when grooved", 10.0, 600.0)
REAR_DIAMETER = Input("rear_diameter", "length", "mm", "rear roller, over its ridges when grooved", 10.0, 600.0)
BEHIND = Input("behind_centre", "length", "mm", "edge behind the reel's axis, level with the ground", -200.0, 200.0)
AHEAD = Input("front_ahead", "length", "mm", "front roller's axis ahead of the edge, along the bench", 1.0, 1000.0)
AFTER = Input("rear_behind", "length", "mm", "rear roller's axis behind the edge, along the bench", 1.0, 1000.0)
HEIGHT_LEFT = Input("height_left", "length", "mm", "height of cut now at the left end, by a bar", -5.0, 200.0)
HEIGHT_RIGHT = Input("height_right", "length", "mm", "height of cut now at the right end", -5.0, 200.0)
FRONT_PITCH = Input("front_pitch", "length", "mm", "front roller's travel for one turn", 0.05, 20.0, optional=True)
REAR_PITCH = Input("rear_pitch", "length", "mm", "rear roller's travel for one turn", 0.05, 20.0, optional=True)
ON_BENCH = (PATTERN, REEL_DIAMETER, BEHIND, HEIGHT_LEFT, HEIGHT_RIGHT, AHEAD, AFTER, FRONT_DIAMETER, REAR_DIAMETER)
PIVOT = (
    Input(
        "pivot_behind", "length", "mm", "pivot of the part that moves, behind the reel's axis; without: it slides "
        "straight", -1000.0, 1000.0, optional=True,
    ),
    Input("pivot_below", "length", "mm", "that pivot below the reel's axis", -1000.0, 1000.0, optional=True),
)  # fmt: skip
STOOD = (
    Result("behind_centre", "length", "mm", "edge behind the reel's axis, mean of both ends"),
    Result("reach", "length", "mm", "how far the reel comes down below the edge"),
    Result("reel_clearance", "length", "mm", "from the ground up to the reel"),
)
TURNS = tuple(
    Result(f"{which}_{side}_{what}", kind, unit, f"{which} roller, {side} end: {words}, down positive; 0: it stays")
    for which in ("front", "rear")
    for side in ("left", "right")
    for what, kind, unit, words in (("travel", "length", "mm", "travel"), ("turns", "number", "", "turns"))
)


def _turned(moves: Moves | None) -> dict[str, float]:
    told = {}
    for which in ("front", "rear"):
        pair = getattr(moves, which) if moves is not None else None
        for side in ("left", "right"):
            move = getattr(pair, side) if pair is not None else None
            told[f"{which}_{side}_travel"] = move.travel if move is not None else 0.0
            told[f"{which}_{side}_turns"] = move.turns if move is not None else 0.0
    return told


def _on_bench(given: Mapping[str, object]) -> OnBench:
    from sparkout.core.stance.given import OnBench

    told = {name: value for name, value in given.items() if name in OnBench.__slots__ and value is not None}
    return OnBench(length=500.0, **told)  # type: ignore[arg-type]  # nothing asked for here hangs on the length


@calculation(
    "stance",
    "How a unit stands, from where its parts lie",
    inputs=(
        REEL_DIAMETER,
        Input("front_ahead", "length", "mm", "front roller's axis ahead of the reel's, in the frame", 1.0, 1000.0),
        Input("front_below", "length", "mm", "front roller's axis below the reel's", -300.0, 500.0),
        FRONT_DIAMETER,
        Input("rear_behind", "length", "mm", "rear roller's axis behind the reel's", 1.0, 1000.0),
        Input("rear_below", "length", "mm", "rear roller's axis below the reel's", -300.0, 500.0),
        REAR_DIAMETER,
        Input("pivot_behind", "length", "mm", "knife carrier's pivot behind the reel's axis", -1000.0, 1000.0),
        Input("pivot_below", "length", "mm", "that pivot below the reel's axis", -1000.0, 1000.0),
        Input("arm", "length", "mm", "pivot to edge", 1.0, 1000.0),
        Input("gap", "length", "mm", "edge circle to bedknife edge", -1.0, 20.0, default=0.0),
        Input("seat_tilt", "angle", "deg", "seat of the bedknife, rear lower positive", -45.0, 45.0, default=0.0),
        Input("top_angle", "angle", "deg", "top-face relief from the seat plane", -45.0, 45.0, default=0.0),
        Input("front_angle", "angle", "deg", "front-face relief from the seat's normal", -45.0, 45.0, default=0.0),
        Input("front_below_right", "length", "mm", "front axis at the right end", -300.0, 500.0, optional=True),
        Input("rear_below_right", "length", "mm", "rear axis at the right end", -300.0, 500.0, optional=True),
    ),
    results=(
        Result("height_left", "length", "mm", "height of cut at the left end, as a bar over both rollers shows it"),
        Result("height_right", "length", "mm", "the same at the right end"),
        Result("level", "length", "mm", "height of cut, right less left"),
        Result("rocks", "length", "mm", "how far one foot stands off a flat bench"),
        *STOOD,
        Result("attitude", "angle", "deg", "tilt of the bedknife's seat against the ground, rear lower positive"),
        Result("approach_angle", "angle", "deg", "edge's place on the reel, from straight below"),
        Result("top_clearance", "angle", "deg", "between the blades' path and the top face"),
        Result("front_lean", "angle", "deg", "front face from upright, leaning back going down"),
    ),
    equation="ground line: lower tangent of both rollers; H from it up to the edge; b² + c² = (R + gap)²; reach R - c",
    source=TILTED,
    validity=BENCH,
    example="reel_diameter=127 front_ahead=80 front_below=35 front_diameter=64 rear_behind=90 rear_below=42 "
    "rear_diameter=50 pivot_behind=70 pivot_below=45 arm=65.5 top_angle=12 front_angle=5",
)  # fmt: skip
def stance(**given: float) -> dict[str, float]:
    """Stance from where the parts lie."""
    from sparkout.core.stance.given import AsBuilt
    from sparkout.core.stance.unit import stance

    front, rear = given.pop("front_below"), given.pop("rear_below")
    front_right, rear_right = given.pop("front_below_right", front), given.pop("rear_below_right", rear)
    built = AsBuilt(
        pattern="knife up", length=500.0, front_below_left=front, front_below_right=front_right, rear_below_left=rear,
        rear_below_right=rear_right, **given,
    )  # fmt: skip
    found = stance(built.unit())
    names = "behind_centre", "reach", "reel_clearance", "attitude", "approach_angle", "top_clearance", "front_lean"
    return {
        "height_left": found.left.height_of_cut,
        "height_right": found.right.height_of_cut,
        "level": found.level,
        "rocks": abs(found.on_flat.twist),
        **{name: getattr(found.middle, name) for name in names},
    }


@calculation(
    "roller-turns",
    "What to turn at the rollers for a height of cut and an attitude",
    inputs=(
        *ON_BENCH,
        Input("wanted_height", "length", "mm", "height of cut wanted at both ends", -5.0, 200.0),
        Input("wanted_behind_centre", "length", "mm", "edge behind the axis wanted; takes adjusters at both rollers",
              -200.0, 200.0, optional=True),
        FRONT_PITCH,
        REAR_PITCH,
    ),
    results=(
        *TURNS,
        *STOOD,
        Result("attitude_change", "angle", "deg", "how the bedknife's seat tilts, rear lower positive"),
    ),
    equation="wanted ground line H below the edge, sloped for b; a roller travels until it touches it",
    source=TILTED,
    validity=f"{BENCH}; rollers that move straight down. Without a wanted attitude the front roller alone is moved",
    example='pattern="knife up" reel_diameter=125 behind_centre=8 height_left=4 height_right=4.1 front_ahead=88 '
    "rear_behind=82 front_diameter=64 rear_diameter=50 wanted_height=3.5 front_pitch=1.5",
    caution=CAUTION,
)  # fmt: skip
def roller_turns(**given: float) -> dict[str, float]:
    """Turns for a wanted stance."""
    from sparkout.core.stance.moves import RollerAdjuster, moves_to
    from sparkout.core.stance.unit import stance

    unit = _on_bench(given).unit()
    pitches = given.get("front_pitch"), given.get("rear_pitch")
    front, rear = (None if pitch is None else RollerAdjuster(pitch) for pitch in pitches)
    moves = moves_to(
        unit, given["wanted_height"], behind_centre=given.get("wanted_behind_centre"), front=front, rear=rear
    )
    before, after = stance(unit).middle, moves.after.middle
    return {
        **_turned(moves),
        **{result.key: getattr(after, result.key) for result in STOOD},
        "attitude_change": after.attitude - before.attitude,
    }


@calculation(
    "stance-after-work",
    "How a unit stands after grinding or new parts, and what to turn",
    inputs=(
        *ON_BENCH,
        *PIVOT,
        Input("radius_removed", "length", "mm", "off the reel's radius; negative for a larger reel", -50.0, 100.0,
              default=0.0),
        Input("top_stock", "length", "mm", "off the bedknife's top face, square to it", 0.0, 20.0, default=0.0),
        Input("front_stock", "length", "mm", "off its front face, square to it", 0.0, 20.0, default=0.0),
        Input("top_angle", "angle", "deg", "top-face relief from the seat plane", 0.0, 40.0, default=0.0),
        Input("front_angle", "angle", "deg", "front-face relief from the seat's normal", 0.0, 40.0, default=0.0),
        Input("seat_tilt", "angle", "deg", "bedknife's seat against the bench, rear lower positive", -45.0, 45.0,
              default=0.0),
        Input("front_diameter_change", "length", "mm", "front roller: worn negative, larger positive", -100.0, 100.0,
              default=0.0),
        Input("rear_diameter_change", "length", "mm", "rear roller: worn negative, larger positive", -100.0, 100.0,
              default=0.0),
        FRONT_PITCH,
        REAR_PITCH,
    ),
    results=(
        Result("height_change", "length", "mm", "of the height of cut with the rollers untouched, mean of both ends"),
        Result("behind_centre_change", "length", "mm", "of the edge behind the axis, rollers untouched"),
        *TURNS,
        *STOOD,
    ),
    equation="edge shifted by the stock, gap closed by the part that moves, ground line anew; turns back to the height",
    source=TILTED,
    validity=f"{BENCH}; the turns bring the mean height back at both ends; results below them are with the turns made",
    example='pattern="knife up" reel_diameter=127 behind_centre=8 height_left=4 height_right=4 front_ahead=88 '
    "rear_behind=82 front_diameter=64 rear_diameter=50 radius_removed=0.3 top_stock=0.1 top_angle=12 front_angle=5 "
    "front_pitch=1.5",
    caution=CAUTION,
)  # fmt: skip
def stance_after_work(**given: float) -> dict[str, float]:
    """Stance after work."""
    from sparkout.core.setting.clicks import Ends
    from sparkout.core.setting.height import edge_shift
    from sparkout.core.stance.moves import RollerAdjuster
    from sparkout.core.stance.work import Work, after_work

    shift = edge_shift(*(given[key] for key in ("top_stock", "front_stock", "top_angle", "front_angle", "seat_tilt")))
    loss = given["radius_removed"]
    work = Work(Ends(loss, loss), shift, given["front_diameter_change"], given["rear_diameter_change"])
    pitches = given.get("front_pitch"), given.get("rear_pitch")
    front, rear = (None if pitch is None else RollerAdjuster(pitch) for pitch in pitches)
    done = after_work(_on_bench(given).unit(), work, front=front, rear=rear)
    last = done.after if done.moves is None else done.moves.after
    return {
        "height_change": done.after.middle.height_of_cut - done.before.middle.height_of_cut,
        "behind_centre_change": done.after.middle.behind_centre - done.before.middle.behind_centre,
        **_turned(done.moves),
        **{result.key: getattr(last.middle, result.key) for result in STOOD},
    }


ENTRIES = (stance, roller_turns, stance_after_work)
