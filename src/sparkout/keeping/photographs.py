"""Copies of a photograph for the page: upright, small, and without anything the camera wrote beside the picture."""

from __future__ import annotations

import datetime
import io
import threading
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from PIL.Image import Image

SMALL, LARGE = 480, 1600
"""Longest side of the copies, pixels."""
MOST_PIXELS: Final = 64_000_000
"""More than a telephone's camera gives, less than a decoder needs to fill the memory: about 0.4 GB at the worst."""
_MILLIONS = MOST_PIXELS // 1_000_000
_LONGEST_SIDE = 20_000
_FORMS = ("JPEG", "PNG", "WEBP")
_TAKEN, _EXIF = 36867, 34665
"""EXIF 2.32: DateTimeOriginal, and the pointer to the table it stands in."""
_one_at_a_time = threading.Lock()


@dataclass(frozen=True, slots=True)
class Shown:
    """A photograph read: its size upright, the day its camera wrote down, and its copies as JPEG."""

    width: int
    height: int
    taken_on: datetime.date | None
    small: bytes
    large: bytes


def shown(content: bytes) -> Shown:
    """Return the copies of a picture.

    One picture is decoded at a time: several at once could fill the memory although none does alone.

    Raises
    ------
    Refusal
        When it is no picture, is damaged, or has more pixels than any camera gives.
    """
    with _one_at_a_time:
        picture, taken_on, width, height = _read(content)
        large = _fitted(picture, LARGE)
        return Shown(width, height, taken_on, _as_jpeg(_fitted(large, SMALL), 80), _as_jpeg(large, 85))


def _read(content: bytes) -> tuple[Image, datetime.date | None, int, int]:
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about broken EXIF and large sizes: judged here, not printed
            with Image.open(io.BytesIO(content), formats=_FORMS) as opened:
                width, height = opened.size
                _allow(width, height)
                exif = opened.getexif()
                turned = exif.get(0x0112) in (5, 6, 7, 8)
                opened.draft("RGB", (LARGE, LARGE))  # JPEG only: decoded at a half, quarter or eighth
                picture = _upright(opened)
                taken_on = _day(exif.get_ifd(_EXIF).get(_TAKEN))
    except Refusal:
        raise
    except Image.DecompressionBombError:  # so many that they are not even counted here
        raise Refusal(
            phrase("the picture has more pixels than can be shown; allowed: at most {most} million", most=_MILLIONS)
        ) from None
    except Exception:  # a decoder fed with hostile bytes raises anything
        raise Refusal(phrase("the picture is damaged: it cannot be read to its end")) from None
    return picture, taken_on, *((height, width) if turned else (width, height))


def _allow(width: int, height: int) -> None:
    if width * height > MOST_PIXELS or max(width, height) > _LONGEST_SIDE:
        raise Refusal(
            phrase(
                "the picture has {width} by {height} pixels; allowed: at most {most} million, no side over {side}",
                width=width, height=height, most=_MILLIONS, side=_LONGEST_SIDE,
            )
        )  # fmt: skip


def _upright(opened: Image) -> Image:
    """Return the picture as one looks at it, on white, in the colours of a usual screen."""
    from PIL import Image, ImageOps

    profile = opened.info.get("icc_profile")
    picture = _fitted(ImageOps.exif_transpose(opened), LARGE)
    if picture.mode in ("RGBA", "LA", "PA", "P"):
        over = picture.convert("RGBA")
        picture = Image.new("RGB", over.size, "white")
        picture.paste(over, mask=over.getchannel("A"))
    elif picture.mode.startswith("I"):
        picture = picture.point(lambda value: value / 256).convert("L")  # sixteen bits
    return _usual_colours(picture, profile)


def _usual_colours(picture: Image, profile: bytes | None) -> Image:
    """Return the picture in sRGB; a profile that cannot be used is left out."""
    from PIL import ImageCms

    if profile and picture.mode in ("RGB", "CMYK"):
        try:
            turned = ImageCms.profileToProfile(
                picture, ImageCms.ImageCmsProfile(io.BytesIO(profile)), ImageCms.createProfile("sRGB"), outputMode="RGB"
            )
        except (ImageCms.PyCMSError, OSError, ValueError):
            turned = None
        if turned is not None:
            return turned
    return picture.convert("RGB")


def _fitted(picture: Image, longest: int) -> Image:
    from PIL import Image

    if max(picture.size) <= longest:
        return picture
    scale = longest / max(picture.size)
    size = max(1, round(picture.width * scale)), max(1, round(picture.height * scale))
    fine = picture if picture.mode not in ("P", "1") else picture.convert("RGBA")
    return fine.resize(size, Image.Resampling.LANCZOS, reducing_gap=2.0)


def _as_jpeg(picture: Image, quality: int) -> bytes:
    """Return the pixels as JPEG and nothing else: a new picture carries no comment, place or maker's note."""
    from PIL import Image

    bare = Image.frombytes("RGB", picture.size, picture.tobytes())
    written = io.BytesIO()
    bare.save(written, "JPEG", quality=quality, optimize=True, progressive=True)
    return written.getvalue()


def _day(told: object) -> datetime.date | None:
    """Return the day of an EXIF date ("2026:11:25 10:30:00"); None when it is none, as many cameras' first days."""
    try:
        found = datetime.datetime.strptime(str(told)[:10], "%Y:%m:%d").date()
    except ValueError:
        return None
    return found if found.year >= 1990 else None
