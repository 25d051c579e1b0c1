"""Pictures and recordings to test with, made here."""

from __future__ import annotations

import io
import wave
from typing import Any

import av
import numpy as np
from PIL import Image


def picture(form: str = "PNG", size: tuple[int, int] = (60, 40), mode: str = "RGB", **how: Any) -> bytes:
    """A picture whose upper left quarter is red and whose rest is grey."""
    made = Image.new("RGB", size, (120, 120, 120))
    made.paste((220, 20, 20), (0, 0, size[0] // 2, size[1] // 2))
    written = io.BytesIO()
    made.convert(mode).save(written, form, **how)
    return written.getvalue()


def photograph(turned: int = 1, day: str = "2026:11:03 10:20:30", size: tuple[int, int] = (64, 48)) -> bytes:
    """A JPEG as a camera writes it: turned, dated, with a place, a comment and a maker's note."""
    exif = Image.Exif()
    exif[0x0112] = turned
    exif[0x010F] = "invented maker"
    exif.get_ifd(0x8769)[36867] = day
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 12.34)
    exif.get_ifd(0x8825)[1] = "N"
    return picture("JPEG", size, exif=exif, comment=b"place: invented links", quality=95)


def pixels(content: bytes) -> Image.Image:
    return Image.open(io.BytesIO(content)).convert("RGB")


def sound_wav(seconds: float = 0.5, rate: int = 8000) -> bytes:
    wave_form = (8000 * np.sin(0.3 * np.arange(int(seconds * rate)))).astype("<i2")
    written = io.BytesIO()
    with wave.open(written, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(rate)
        out.writeframes(wave_form.tobytes())
    return written.getvalue()


def sound(form: str, codec: str, rate: int = 48000) -> bytes:
    """One second of a tone in a telephone's or a browser's form."""
    written = io.BytesIO()
    with av.open(written, "w", format=form) as out:
        stream = out.add_stream(codec, rate=rate)
        tone = (8000 * np.sin(0.1 * np.arange(rate))).astype("<i2")[None]
        frame = av.AudioFrame.from_ndarray(tone, format="s16", layout="mono")
        frame.sample_rate = rate
        fit = av.AudioResampler(stream.format, "mono", rate, frame_size=stream.codec_context.frame_size or None)
        for piece in fit.resample(frame):
            out.mux(stream.encode(piece))
        out.mux(stream.encode(None))
    return written.getvalue()


def film() -> bytes:
    """A moment of moving picture."""
    written = io.BytesIO()
    with av.open(written, "w", format="mp4") as out:
        stream = out.add_stream("mpeg4", rate=25)
        stream.width, stream.height, stream.pix_fmt = 32, 32, "yuv420p"
        for _ in range(3):
            out.mux(stream.encode(av.VideoFrame.from_ndarray(np.zeros((32, 32, 3), "uint8"), format="rgb24")))
        out.mux(stream.encode(None))
    return written.getvalue()
