"""Copies are upright, small, and hold nothing but the picture; what is hostile is refused in words."""

from __future__ import annotations

import datetime
import io
import re
import struct
import zlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms
from tests.keeping.invented import photograph, picture, pixels

from sparkout.core.errors import Refusal
from sparkout.keeping import photographs
from sparkout.keeping.kinds import LARGEST_PICTURE, content_type_of
from sparkout.keeping.photographs import LARGE, SMALL, shown

# EXIF 2.32, 4.6.4: where row 0 and column 0 of the stored picture are seen. The red quarter is stored at upper left.
SEEN_AT = {1: "ul", 2: "ur", 3: "lr", 4: "ll", 5: "ul", 6: "ur", 7: "lr", 8: "ll"}


def red_at(content: bytes) -> str:
    seen = pixels(content)
    places = {"ul": (0.2, 0.2), "ur": (0.8, 0.2), "ll": (0.2, 0.8), "lr": (0.8, 0.8)}
    red = []
    for name, (x, y) in places.items():
        r, g, _ = seen.getpixel((int(x * seen.width), int(y * seen.height)))
        if r - g > 100:
            red.append(name)
    return "".join(red)


@pytest.mark.parametrize("turned", SEEN_AT)
def test_copies_stand_upright(turned: int) -> None:
    found = shown(photograph(turned))
    assert (found.width, found.height) == ((48, 64) if turned > 4 else (64, 48))
    for copy in (found.small, found.large):
        assert red_at(copy) == SEEN_AT[turned]
        assert pixels(copy).size == (found.width, found.height)


def test_copies_hold_nothing_the_camera_wrote() -> None:
    original = photograph()
    assert b"invented links" in original
    assert b"invented maker" in original
    for copy in (shown(original).small, shown(original).large):
        opened = Image.open(io.BytesIO(copy))
        assert not opened.getexif()
        assert set(opened.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", "progressive", "progression"}
        assert b"invented" not in copy
        assert not re.search(rb"Exif|http|ICC_PROFILE|Photoshop", copy)


def test_the_day_is_the_cameras_own() -> None:
    assert shown(photograph()).taken_on == datetime.date(2026, 11, 3)
    assert shown(photograph(day="0000:00:00 00:00:00")).taken_on is None
    assert shown(photograph(day="1980:01:01 00:00:00")).taken_on is None  # a camera whose clock was never set
    assert shown(picture()).taken_on is None


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("mode", ["RGB", "L"])
def test_forms(form: str, mode: str) -> None:
    found = shown(picture(form, (3000, 1500), mode))
    assert (found.width, found.height) == (3000, 1500)
    assert pixels(found.large).size == (LARGE, LARGE // 2)
    assert pixels(found.small).size == (SMALL, SMALL // 2)
    assert (red_at(found.small) == "ul") == (mode == "RGB")


@pytest.mark.parametrize("mode", ["RGBA", "LA", "P", "1", "I;16"])
def test_what_is_clear_stands_on_white(mode: str) -> None:
    if mode == "I;16":
        made = Image.new("I;16", (4, 4), 65535)
    else:
        made = Image.new("RGBA", (4, 4), (0, 0, 0, 0))
        made = made.convert(mode) if mode != "1" else Image.new("1", (4, 4), 1)
    written = io.BytesIO()
    made.save(written, "PNG", **({"transparency": 0} if mode == "P" else {}))
    assert min(pixels(shown(written.getvalue()).small).getpixel((1, 1))) > 240


def test_wide_colours_are_turned_to_a_usual_screens() -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    plain = shown(picture("JPEG", quality=95))
    assert pixels(shown(picture("JPEG", quality=95, icc_profile=profile)).small).getpixel((5, 5)) == pytest.approx(
        pixels(plain.small).getpixel((5, 5)), abs=3
    )
    assert shown(picture("JPEG", icc_profile=b"no profile at all")).small  # left out, not refused


def png(width: int, height: int, data: bytes = b"") -> bytes:
    """A PNG that says it has so many pixels."""

    def chunk(name: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(data)) + chunk(b"IEND", b"")


@pytest.mark.parametrize("size", [(50_000, 50_000), (8001, 8001), (20_001, 1), (2**31 - 1, 2**31 - 1)])
def test_a_picture_that_would_fill_the_memory_is_refused(size: tuple[int, int]) -> None:
    with pytest.raises(Refusal, match=r"(\d+ by \d+|more) pixels.*; allowed: at most 64 million"):
        shown(png(*size))


@pytest.mark.parametrize(
    "content",
    [
        b"", b"no picture", png(10, 10), png(100, 100, b"\0" * 40), photograph()[:200], picture("WEBP")[:60],
        b"GIF89a" + b"\0" * 40, b"<svg xmlns='http://www.w3.org/2000/svg'/>", png(0, 0),
    ],
)  # fmt: skip
def test_what_cannot_be_read_to_its_end_is_refused(content: bytes) -> None:
    with pytest.raises(Refusal, match="damaged"):
        shown(content)


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(["JPEG", "PNG", "WEBP"]), st.data())
def test_damaged_bytes_never_end_in_anything_but_a_refusal(form: str, data: st.DataObject) -> None:
    content = bytearray(photograph() if form == "JPEG" else picture(form))
    for _ in range(data.draw(st.integers(1, 8))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    try:
        found = shown(bytes(content))
    except Refusal:
        return
    assert pixels(found.small).size <= (SMALL, SMALL)


def test_one_picture_is_decoded_at_a_time() -> None:
    assert not photographs._one_at_a_time.locked()
    with pytest.raises(Refusal):
        shown(b"")
    assert not photographs._one_at_a_time.locked()  # a refusal lets the next one in


def test_size_in_bytes() -> None:
    with pytest.raises(Refusal, match="the file has 41 MB; allowed: at most 40 MB"):
        content_type_of(picture() + b"\0" * LARGEST_PICTURE)
