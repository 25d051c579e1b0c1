"""Photographs and a recording for the demonstration: drawn and sounded by these lines, and labelled as invented."""

from __future__ import annotations

import io
import math
import wave
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from sparkout.demonstration.scenario import SEED
from sparkout.records.models import Unit, Visit
from sparkout.records.operations.attachments import attach_file

if TYPE_CHECKING:
    import datetime

    from PIL.ImageDraw import ImageDraw

    from sparkout.records.models import Person

_SIZE: Final = (800, 600)
_LABEL: Final = "invented: drawn for the demonstration"
_STEEL, _DARK, _BRIGHT, _BENCH = (150, 156, 162), (62, 66, 70), (214, 219, 224), (96, 84, 70)


def attach_invented(people: dict[str, Person]) -> None:
    """Attach two photographs and a recording to visits on the bench, and one photograph to a unit outside a visit."""
    a, b = people["technician A"], people["technician B"]
    left, struck = (
        Visit.objects.select_related("unit").get(unit__name=n, state="open") for n in ("G3 left", "F2 centre")
    )
    attach_file(
        actor=a, unit=left.unit, visit=left, name="land, blade 7.jpg", content=_photograph(_land, left.date),
        note="Land at the left end, invented picture", step="measure reel", blade=7,
    )  # fmt: skip
    attach_file(
        actor=b, unit=struck.unit, visit=struck, name="struck, blade 3.jpg", content=_photograph(_nick, struck.date),
        note="Where the sprinkler head was struck, invented picture", step="look over", blade=3,
    )  # fmt: skip
    attach_file(
        actor=b, unit=struck.unit, visit=struck, name="left bearing, by hand.wav", content=_sound(),
        note="Left bearing, turned by hand, invented sound", step="bearings", taken_on=struck.date,
    )  # fmt: skip


def attach_worn_out(actor: Person, unit: Unit, day: datetime.date) -> None:
    """Attach a photograph of the day on which a reel was swapped."""
    attach_file(
        actor=actor, unit=unit, name="old and new.jpg", content=_photograph(_two_reels, day),
        note="Worn-out reel beside the one that took its place, invented picture",
    )  # fmt: skip


def _photograph(draw: Any, day: datetime.date | None) -> bytes:
    """Return a drawn picture as a camera would write it, with its day."""
    from PIL import Image, ImageDraw, ImageFont

    generator = np.random.default_rng([SEED, 7])
    grain = generator.normal(0.0, 5.0, (_SIZE[1] // 4, _SIZE[0] // 4))
    light = np.clip(np.array(_BENCH)[None, None, :] + grain[:, :, None], 0, 255).astype(np.uint8)
    made = Image.fromarray(light).resize(_SIZE, Image.Resampling.BICUBIC)
    pen = ImageDraw.Draw(made)
    draw(pen)
    pen.rectangle((0, 556, 800, 600), fill=(20, 20, 20))
    pen.text((16, 562), _LABEL, fill=(255, 255, 255), font=ImageFont.load_default(26))
    exif = Image.Exif()
    if day is not None:
        exif.get_ifd(0x8769)[36867] = f"{day:%Y:%m:%d} 09:30:00"
    written = io.BytesIO()
    made.save(written, "JPEG", quality=60, exif=exif)
    return written.getvalue()


def _land(pen: ImageDraw) -> None:
    """A blade's tip close up: the bright land, the facet behind it, a scale beside it."""
    pen.polygon([(0, 120), (800, 60), (800, 470), (0, 530)], fill=_STEEL)
    pen.polygon([(0, 120), (800, 60), (800, 150), (0, 235)], fill=_BRIGHT)
    pen.polygon([(0, 235), (800, 150), (800, 330), (0, 420)], fill=_DARK)
    pen.polygon([(470, 20), (560, 14), (600, 330), (510, 338)], fill=(240, 238, 228))
    for i in range(15):
        x, y = 474 + 2.6 * i, 30 + 20 * i
        pen.line([(x, y), (x + (34 if i % 5 == 0 else 20), y - 2)], fill=(20, 20, 20), width=3)


def _nick(pen: ImageDraw) -> None:
    """A reel's edges from the front, one with a nick out of it."""
    for i in range(7):
        y = 40 + 78 * i
        pen.polygon([(0, y + 40), (800, y - 40), (800, y - 8), (0, y + 72)], fill=_STEEL)
        pen.line([(0, y + 40), (800, y - 40)], fill=_BRIGHT, width=5)
    pen.polygon([(372, 197), (398, 232), (416, 226), (438, 190)], fill=_BENCH)
    pen.ellipse((300, 130, 510, 300), outline=(230, 190, 60), width=6)


def _two_reels(pen: ImageDraw) -> None:
    """Two reels end on, one smaller than the other."""
    for x, radius in ((220, 150), (570, 185)):
        for blade in range(6):
            turn = 2 * math.pi * blade / 6
            tip = x + radius * math.cos(turn), 290 + radius * math.sin(turn)
            pen.line([(x, 290), tip], fill=_DARK, width=26)
            pen.ellipse((tip[0] - 14, tip[1] - 14, tip[0] + 14, tip[1] + 14), fill=_BRIGHT)
        pen.ellipse((x - 60, 230, x + 60, 350), fill=_STEEL, outline=_DARK, width=6)


def _sound(seconds: float = 2.0, rate: int = 8000) -> bytes:
    """Return a reel turned by hand: a rumble that comes round, and noise."""
    generator = np.random.default_rng([SEED, 8])
    time = np.arange(int(seconds * rate)) / rate
    rumble = np.sin(2 * math.pi * 90 * time) * (0.6 + 0.4 * np.sin(2 * math.pi * 1.5 * time))
    wave_form = 6000 * rumble + generator.normal(0.0, 700.0, time.size)
    written = io.BytesIO()
    with wave.open(written, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(rate)
        out.writeframes(np.clip(wave_form, -32000, 32000).astype("<i2").tobytes())
    return written.getvalue()
