"""What a file is, told from its first bytes; its name and what the browser calls it prove nothing."""

from __future__ import annotations

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase

PICTURES = ("image/jpeg", "image/png", "image/webp")
SOUNDS = ("audio/wav", "audio/mp4", "audio/webm", "audio/ogg")
ENDINGS = {
    "image/jpeg": "jpg", "image/png": "png", "image/webp": "webp",
    "audio/wav": "wav", "audio/mp4": "m4a", "audio/webm": "webm", "audio/ogg": "ogg",
}  # fmt: skip
LARGEST_PICTURE = 40_000_000
LARGEST_SOUND = 80_000_000
"""Bytes: a long telephone video's worth is no photograph; ten minutes of uncompressed sound is a recording."""
_STILLS = (b"heic", b"heix", b"mif1", b"msf1", b"hevc", b"avif")
ALLOWED = phrase("JPEG, PNG or WebP pictures; WAV, M4A, WebM or Ogg recordings")


def content_type_of(content: bytes) -> str:
    """Return what a file is, one of `PICTURES` or `SOUNDS`, when it may be kept.

    Raises
    ------
    Refusal
        When it is empty, too large, or something else.

    Examples
    --------
    >>> content_type_of(bytes([0x89]) + b"PNG" + bytes([13, 10, 26, 10]))
    'image/png'
    """
    if not content:
        raise Refusal(phrase("the file is empty; allowed: {allowed}", allowed=ALLOWED))
    found = _sniffed(content[:64])
    if not found:
        raise Refusal(_why_not(content[:64]))
    most = LARGEST_PICTURE if found in PICTURES else LARGEST_SOUND
    if len(content) > most:
        raise Refusal(
            phrase("the file has {size} MB; allowed: at most {most} MB",
                   size=-(-len(content) // 1_000_000), most=most // 1_000_000)
        )  # fmt: skip
    return found


def _sniffed(head: bytes) -> str:
    if head.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if head[:4] == b"RIFF":
        return {b"WEBP": "image/webp", b"WAVE": "audio/wav"}.get(head[8:12], "")
    if head[4:8] == b"ftyp" and head[8:12] not in _STILLS:
        return "audio/mp4"
    if head.startswith(b"\x1aE\xdf\xa3"):
        return "audio/webm"
    return "audio/ogg" if head.startswith(b"OggS") else ""


def _why_not(head: bytes) -> str:
    if head[4:8] == b"ftyp":
        return phrase(
            "this picture is in a form (HEIC, AVIF) that many browsers cannot show; allowed: {allowed}. "
            "Set the camera to its most compatible form, or share the picture as JPEG",
            allowed=ALLOWED,
        )
    return phrase("this is neither a picture nor a recording that can be shown; allowed: {allowed}", allowed=ALLOWED)
