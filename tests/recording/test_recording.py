"""Recordings as phones write them: coded here by the decoder's own library, with a known sound inside."""

import io
import wave

import av
import numpy as np
import pytest

from sparkout.core.bearing.geometry import Bearing, defect_multiples
from sparkout.core.errors import NotEnough, OutOfRange, Refusal
from sparkout.recording import decoding
from sparkout.recording.decoding import decoded
from sparkout.recording.hearing import listened

RATE = 48_000
BEARING = Bearing(9, 7.94, 39.04)


def sound(seconds=6, fault=True):
    """Blades at 1500 1/min, noise, and an outer race that is struck."""
    rng = np.random.default_rng(1)
    t = np.arange(RATE * seconds) / RATE
    x = 0.3 * rng.normal(size=t.size)
    for k in range(1, 6):
        x += np.sin(2 * np.pi * 11 * 25 * k * t) / k
    if fault:
        times = np.cumsum((1 + rng.normal(0, 0.005, 530)) / (25 * defect_multiples(BEARING).outer))
        blows = np.zeros(t.size)
        blows[(times[times < seconds - 0.1] * RATE).astype(int)] = 1.0
        k = np.arange(200) / RATE
        x += 3.0 * np.convolve(blows, np.exp(-1500 * k) * np.sin(2 * np.pi * 4200 * k))[: t.size]
    return 0.2 * x


def wav(samples, width=2, channels=1):
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(width)
        file.setframerate(RATE)
        file.writeframes(np.repeat((np.clip(samples, -1, 1) * 32767).astype("<i2"), channels).tobytes())
    return out.getvalue()


def coded(samples, kind, codec):
    out = io.BytesIO()
    with av.open(out, "w", format=kind) as container:
        stream = container.add_stream(codec, rate=RATE)
        stream.layout = "mono"
        frame = av.AudioFrame.from_ndarray(samples.astype(np.float32)[None], format="fltp", layout="mono")
        frame.sample_rate = RATE
        for packet in (*stream.encode(frame), *stream.encode(None)):
            container.mux(packet)
    return out.getvalue()


def test_wav_comes_back_as_it_was():
    x = sound(3)
    found = decoded(wav(x, channels=2))
    assert found.rate == RATE
    assert found.seconds == pytest.approx(3.0)
    assert found.samples == pytest.approx(x, abs=1e-4)


@pytest.mark.parametrize(("kind", "codec"), [("mp4", "aac"), ("webm", "libopus")])
def test_what_a_phone_records_tells_speed_and_fault(kind, codec):
    found = listened(coded(sound(), kind, codec), 11, BEARING)
    assert found.speed == pytest.approx(1500, rel=0.002)
    assert found.bearing is not None
    assert found.bearing.fault == "outer race"
    assert any("keeps little above" in note for note in found.notes)


def test_wav_tells_the_same_and_a_sound_bearing_is_left_alone():
    assert listened(wav(sound()), 11, BEARING).bearing.fault == "outer race"
    assert listened(wav(sound(fault=False)), 11, BEARING).bearing.fault is None
    assert listened(wav(sound(fault=False)), 11).bearing is None


def test_without_lines_of_blades_the_speed_must_be_given():
    noise = wav(0.1 * np.random.default_rng(0).normal(size=RATE * 4))
    with pytest.raises(NotEnough, match="stand out"):
        listened(noise, 11, BEARING)
    found = listened(noise, 11, BEARING, speed=1500)
    assert found.by_blades is None
    assert found.bearing.fault is None
    lone = wav(
        0.5 * np.sin(2 * np.pi * 300 * np.arange(RATE * 4) / RATE)
        + 0.01 * np.random.default_rng(0).normal(size=RATE * 4)
    )
    with pytest.raises(NotEnough, match="tachometer"):
        listened(lone, 11, BEARING)


def test_files_that_are_no_recording_are_refused(monkeypatch):
    for data in (b"", b"no sound at all" * 100, b"RIFF\x00\x00\x00\x00WAVE"):
        with pytest.raises(Refusal):
            decoded(data)
    monkeypatch.setattr(decoding, "LARGEST", 10)
    with pytest.raises(OutOfRange, match="recording"):
        decoded(b"x" * 11)


def test_a_cut_file_gives_what_is_there(monkeypatch):
    whole = wav(sound(3))
    assert decoded(whole[: len(whole) // 2]).seconds == pytest.approx(1.5, abs=0.1)
    monkeypatch.setattr(decoding, "LONGEST", 1.0)
    found = decoded(whole)
    assert found.seconds == pytest.approx(1.0)
    assert "all after 1 s" in found.left_out
