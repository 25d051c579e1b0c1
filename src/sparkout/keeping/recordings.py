"""A recording: whether it holds sound that can be played, and for how long."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from av.container import InputContainer

_READERS = {"audio/wav": "wav", "audio/mp4": "mov", "audio/webm": "matroska", "audio/ogg": "ogg"}
"""The one reader each kind is given to, so that no file is taken for a playlist that names others."""


def seconds_of(content: bytes, content_type: str) -> float | None:
    """Return how long a recording is, or None when its file does not say (a browser's own recordings do not).

    Raises
    ------
    Refusal
        When there is no sound in it, or there are moving pictures: a film is kept elsewhere.
    """
    import av

    try:
        with av.open(io.BytesIO(content), "r", format=_READERS[content_type]) as opened:
            films, sounding, seconds = _looked_into(opened)
    except (av.FFmpegError, OSError, ValueError, EOFError):
        raise Refusal(phrase("the recording is damaged: no sound can be read from it")) from None
    if films:
        raise Refusal(phrase("this is a film, not a recording of sound; allowed: sound alone"))
    if not sounding:
        raise Refusal(phrase("there is no sound in this recording"))
    return seconds


def _looked_into(opened: InputContainer) -> tuple[bool, bool, float | None]:
    """Return whether there are moving pictures, whether a first piece of sound can be decoded, and the length."""
    from av.stream import Disposition

    films = any(not stream.disposition & Disposition.attached_pic for stream in opened.streams.video)
    if films or not opened.streams.audio:
        return films, False, None
    sounding = next(opened.decode(audio=0), None) is not None
    sound = opened.streams.audio[0]
    if opened.duration is not None and opened.duration > 0:
        return False, sounding, opened.duration / 1e6
    if sound.duration is None or sound.time_base is None:
        return False, sounding, None
    return False, sounding, float(sound.duration * sound.time_base)
