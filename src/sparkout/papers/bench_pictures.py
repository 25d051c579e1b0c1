"""Pictures of sums made without a visit: a unit on the bench, a machine on the turf."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.stance.moves import Moves
from sparkout.drawing.clip import OwnBand, Speeds, clip_chart
from sparkout.drawing.ribs import RibCause, rib_causes
from sparkout.drawing.stance import unit_on_its_rollers
from sparkout.drawing.strip import ribbed_strip
from sparkout.papers.pictures import drawn_stance, manners
from sparkout.reckoning.answer import Untold
from sparkout.telling.on_turf import travel_words

if TYPE_CHECKING:
    from sparkout.reckoning.on_turf import OnTurf, Ribs
    from sparkout.reckoning.standing import Standing
    from sparkout.showing import Showing


def bench_stance(found: Standing, showing: Showing, width: float = 390.0) -> str:
    """Return a unit on the bench as it stands; with turns to make, as it stands after them and as now dashed."""
    now, unit, stands = drawn_stance(found.unit, found.stance), found.unit, found.stance
    moved = isinstance(found.moves, Moves)
    if isinstance(found.moves, Moves):
        unit, stands = found.moves.unit, found.moves.after
    return unit_on_its_rollers(
        drawn_stance(unit, stands),
        before=now if moved else None,
        heights=(stands.left.height_of_cut, stands.right.height_of_cut),
        foot_off=abs(stands.on_flat.twist) if stands.on_flat.rocks_about else 0.0,
        **manners(showing, "bench-stance", width),
    )


def turf_pictures(found: OnTurf, showing: Showing, width: float = 390.0) -> tuple[str, ...]:
    """Return the pictures of a machine at work: travel against reel speed, causes of its ribs, the strip it leaves."""
    made = [_chart(found, showing, width)]
    if found.ribs is not None and not isinstance(found.ribs, Untold):
        made.append(_causes(found.ribs, showing, width))
    if found.strip is not None and not isinstance(found.strip, Untold):
        strip = found.strip
        step = float(strip.along[1] - strip.along[0])
        near = min(250.0, step * len(strip.along))
        made.append(ribbed_strip(strip.length, step, close_up=near, **manners(showing, "strip", width)))
    return tuple(made)


def _chart(found: OnTurf, showing: Showing, width: float) -> str:
    travel, reel = float(found.given.travel_speed or 0.0), found.reel_speed
    clip, blades = found.running.clip.value, int(found.given.blades or 0)
    band = None if isinstance(found.band, Untold) else found.band
    geared = found.given.drive == "from the roller"
    return clip_chart(
        (0.5 * reel, 1.5 * reel),
        (0.4 * travel, 1.6 * travel),
        blades,
        sorted(_round(clip * part) for part in (0.5, 0.7, 1.0, 1.4, 2.0)),
        band=None if band is None else OwnBand(band.finest, band.coarsest, showing.say(band.origin)),
        now=(reel, travel),
        land_clip=clip if geared else None,
        speeds=_speeds(showing),
        **manners(showing, "clip", width),
    )


def _round(value: float) -> float:
    """Two figures, for lines of a chart."""
    return float(f"{value:.2g}")


def _speeds(showing: Showing) -> Speeds:
    unit = 1e6 / 3600.0 if showing.system == "mm" else 447.04
    return Speeds(lambda v: travel_words(v, showing), unit, lambda w: showing.quantity(w, "rotation", places=0))


def _causes(ribs: Ribs, showing: Showing, width: float) -> str:
    pitch = ribs.pitch
    rows = [
        RibCause(showing.say(each.cause.name), each.pitch, *each.interval, each.chance)
        for each in ribs.finding.weighed
        if each.chance >= 0.001
    ]
    ends = max(0.1 * pitch.value, pitch.value - 1.96 * pitch.u), pitch.value + 1.96 * pitch.u
    return rib_causes((pitch.value, *ends), rows, **manners(showing, "ribs", width))
