"""What a file is told from its bytes; recordings are opened by the one reader of their kind; files come whole."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.keeping.invented import film, picture, sound, sound_wav

from sparkout.core.errors import Refusal
from sparkout.keeping.files import copy_path, digest_of, keep, original_path
from sparkout.keeping.kinds import PICTURES, SOUNDS, content_type_of
from sparkout.keeping.recordings import seconds_of

SOUNDS_MADE = {
    "audio/wav": lambda: sound_wav(1.0),
    "audio/mp4": lambda: sound("ipod", "aac"),
    "audio/webm": lambda: sound("webm", "libopus"),
    "audio/ogg": lambda: sound("ogg", "libopus"),
}


@pytest.mark.parametrize("kind", SOUNDS_MADE)
def test_a_recording_is_known_and_as_long_as_it_is(kind: str) -> None:
    content = SOUNDS_MADE[kind]()
    assert content_type_of(content) == kind
    assert seconds_of(content, kind) == pytest.approx(1.0, abs=0.05)


@pytest.mark.parametrize("kind", SOUNDS_MADE)
@pytest.mark.parametrize("spoil", [lambda c: c[:40], lambda c: c[:12] + b"\0" * 400, lambda c: c[:4] + c[:4] * 90])
def test_a_damaged_recording_is_refused(kind: str, spoil) -> None:
    with pytest.raises(Refusal, match="no sound can be read"):
        seconds_of(spoil(SOUNDS_MADE[kind]()), kind)


def test_a_film_is_no_recording() -> None:
    with pytest.raises(Refusal, match="a film"):
        seconds_of(film(), content_type_of(film()))


def test_a_length_that_the_file_does_not_say_is_not_made_up() -> None:
    content = SOUNDS_MADE["audio/webm"]()
    at = content.index(b"\x44\x89")  # Matroska's Duration, made something to be passed over: as browsers leave it out
    told = seconds_of(content[:at] + b"\xec\x89" + content[at + 2 :], "audio/webm")
    assert told in (None, pytest.approx(1.0, abs=0.1))


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_pictures_are_known(form: str) -> None:
    assert content_type_of(picture(form)) == f"image/{form.lower()}"


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "the file is empty; allowed: JPEG, PNG or WebP pictures; WAV, M4A, WebM or Ogg recordings"),
        (b"\0\0\0\x18ftypheic" + b"\0" * 50, "HEIC.*most compatible"),
        (b"\0\0\0\x18ftypavif" + b"\0" * 50, "AVIF"),
        (b"<html>", "neither a picture nor a recording"),
        (b"#EXTM3U\nhttp://elsewhere.example/", "neither"),
        (b"RIFF\0\0\0\0AVI ", "neither"),
        (b"GIF89a", "neither"),
    ],
)
def test_anything_else_is_refused_with_what_would_do(content: bytes, why: str) -> None:
    with pytest.raises(Refusal, match=why):
        content_type_of(content)


@given(st.binary(max_size=80))
def test_any_bytes_are_known_or_refused(content: bytes) -> None:
    try:
        found = content_type_of(content)
    except Refusal as refusal:
        found = str(refusal)
    assert found in (*PICTURES, *SOUNDS) or "allowed" in found


def test_a_file_is_kept_once_whole_under_its_digest(tmp_path: Path) -> None:
    digest = digest_of(b"abc")
    assert digest == hashlib.sha256(b"abc").hexdigest()
    path = original_path(tmp_path, digest)
    keep(path, b"abc")
    keep(path, b"something else")  # what is there stays
    assert path.read_bytes() == b"abc"
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == [path]
    assert copy_path(tmp_path, digest, 480) != path


def test_a_file_that_cannot_be_written_leaves_nothing(tmp_path: Path, monkeypatch) -> None:
    (tmp_path / "ba").write_text("in the way")
    with pytest.raises(Refusal, match="could not be kept"):
        keep(original_path(tmp_path, digest_of(b"abc")), b"abc")

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(Refusal, match="could not be kept: No space left"):
        keep(tmp_path / "xx" / "y", b"abc")
    assert not list((tmp_path / "xx").iterdir())
