"""The picture of what a recording shows of a bearing, in one reader's words."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from sparkout.core.phrase import phrase
from sparkout.drawing.spectrum import DefectLine, OtherLine, envelope_spectrum
from sparkout.papers.pictures import manners
from sparkout.telling.sound import hertz, line_told

if TYPE_CHECKING:
    from sparkout.recording.kept import Hearing
    from sparkout.showing import Showing


def sound_picture(
    heard: Hearing, showing: Showing, width: float = 390.0, prefix: str = "spectrum", *, alone: bool = True
) -> str:
    """Return the picture as SVG text; empty where no bearing was asked for. `alone`: with what it cannot show."""
    shown = heard.bearing
    if shown is None or len(shown.frequencies) < 2:
        return ""
    say, turn = showing.say, heard.speed / 60.0
    defects = [
        DefectLine(line.fault, line.found if line.named else line.expected, say(line_told(line, showing)), line.named)
        for line in shown.lines
    ]
    others = [
        OtherLine(say(phrase("the reel's own turns")), turn),
        OtherLine(say(phrase("the blades")), heard.blades * turn),
        *(OtherLine(name, frequency) for name, frequency in heard.others.items()),
    ]
    cannot = [say(text) for text in (*heard.notes, *shown.cannot)] if alone else []
    return envelope_spectrum(
        shown.frequencies, shown.heights, defects, others, cannot,
        frequency=partial(hertz, showing=showing), **manners(showing, prefix, width),
    )  # fmt: skip
