"""One recording of one turning reel: its speed, and what it shows of a bearing."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from sparkout.core.bearing.geometry import Bearing
from sparkout.core.bearing.running_down import RunningDown, running_down
from sparkout.core.bearing.spectrum import Heard, ReelSpeed, heard, reel_speed
from sparkout.core.errors import NotEnough
from sparkout.core.phrase import phrase
from sparkout.recording.decoding import Sound, decoded

NARROW = {"aac": 16_000.0, "opus": 20_000.0, "mp3": 16_000.0}
"""Hz above which these codings keep little, at the rates phones use: common practice, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class Listened:
    """What a recording told: the sound's own facts, the speed, and the bearing's lines where its inside is known."""

    sound: Sound
    speed: float
    """1/min used"""
    by_blades: ReelSpeed | None
    """Speed by blade-pass; None: it could not be told."""
    bearing: Heard | None
    """None: the bearing's inside is not on file."""
    notes: tuple[str, ...]
    run_down: RunningDown | None = None
    """How it slows, where it runs down; nothing is then said of the bearing's lines."""


def listened(
    data: bytes,
    blades: int,
    bearing: Bearing | None = None,
    speed: float | None = None,
    others: Mapping[str, float] | None = None,
) -> Listened:
    """Return what a recording of a turning reel tells: the operation below every door.

    A reel that runs down is told by how it slows. Else, without `speed` (1/min), its speed by blade-pass is used,
    if it stands out enough to be sure of.

    Raises
    ------
    NotEnough
        No sure speed, and none given; a recording too short.
    Refusal, OutOfRange
        From `decoded` and `heard`.
    """
    sound = decoded(data)
    notes = list(sound.left_out)
    if sound.coding in NARROW and sound.rate / 2.0 > NARROW[sound.coding]:
        kept = NARROW[sound.coding]
        notes.append(phrase("{coding} keeps little above {hertz:.0f} Hz", coding=sound.coding, hertz=kept))
    falling = running_down(sound.samples, sound.rate, blades)
    if falling is not None:
        if bearing is not None:
            notes.append(phrase("the reel slows down during it: a bearing's lines need an even speed"))
        at_first = falling.first_speed.value * 30.0 / math.pi
        return Listened(sound, at_first if speed is None else speed, None, None, tuple(notes), falling)
    try:
        by_blades = reel_speed(sound.samples, sound.rate, blades)
    except NotEnough as reason:
        if speed is None:
            raise
        by_blades = None
        notes.append(str(reason))
    if speed is None:
        assert by_blades is not None
        if not by_blades.sure:
            raise NotEnough(
                phrase("reel speed from the recording"),
                phrase("a speed that stands out from others, or the speed from a tachometer"),
            )
        speed = by_blades.speed
    found = heard(sound.samples, sound.rate, speed, bearing, blades, others) if bearing is not None else None
    return Listened(sound, speed, by_blades, found, tuple(notes))
