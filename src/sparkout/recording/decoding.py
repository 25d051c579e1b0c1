"""What a phone or a sensor records (WAV, m4a, webm and what else the decoder knows), as one channel of samples."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import NotEnough, OutOfRange, Refusal
from sparkout.core.phrase import phrase

LARGEST = 100_000_000
"""Bytes of a file."""
LONGEST = 300.0
"""Seconds; what comes after is left out and said."""


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """One channel of a recording: samples with full scale at 1, rate in Hz, how it was coded, what was left out."""

    samples: NDArray[np.float64]
    rate: float
    coding: str
    left_out: tuple[str, ...] = ()

    @property
    def seconds(self) -> float:
        """Length of what is kept."""
        return self.samples.size / self.rate


def decoded(data: bytes) -> Sound:
    """Return the sound in a recording's bytes; several channels are taken as their mean.

    Raises
    ------
    OutOfRange
        A file larger than 100 MB.
    NotEnough
        No sound in it.
    Refusal
        A file that is no recording, or is damaged before anything could be read.
    """
    import av  # a decoder for everything phones write; slow to import

    if len(data) > LARGEST:
        raise OutOfRange("recording", len(data), phrase("at most {largest}", largest=LARGEST), "bytes")
    blocks: list[NDArray[np.float64]] = []
    left_out: list[str] = []
    count = 0
    try:
        with av.open(io.BytesIO(data), mode="r") as container:
            if not container.streams.audio:
                raise NotEnough(phrase("a recording"), phrase("sound in the file"))
            stream = container.streams.audio[0]
            rate, coding = int(stream.rate or 0), stream.codec_context.name
            # One number type for all codings; the channels are then averaged here, as mixing would raise their sum.
            resampler = av.AudioResampler(format="fltp", layout=stream.layout, rate=rate)
            try:
                for frame in container.decode(stream):
                    for part in resampler.resample(frame):
                        blocks.append(part.to_ndarray().astype(np.float64).mean(axis=0))
                        count += blocks[-1].size
                    if count > LONGEST * rate:
                        left_out.append(phrase("all after {seconds:g} s", seconds=LONGEST))
                        break
            except av.FFmpegError:
                if not blocks:
                    raise
                left_out.append(phrase("the end: the file is damaged there"))
    except av.FFmpegError as error:
        raise Refusal(phrase("the file is no recording that can be read ({why})", why=str(error))) from error
    if not blocks or rate <= 0:
        raise NotEnough(phrase("a recording"), phrase("sound in the file"))
    samples = np.concatenate(blocks)[: int(LONGEST * rate)]
    if not np.all(np.isfinite(samples)):
        raise Refusal(phrase("the recording holds values that are not numbers"))
    return Sound(samples, float(rate), coding, tuple(left_out))
