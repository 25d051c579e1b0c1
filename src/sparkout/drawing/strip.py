"""The strip of turf in relief, whole and close up, with a profile.

The relief is a PNG inside the SVG, as a `data:` address: the page's rules on images allow it, it prints, and one file
stays one picture. A polygon per place would be a million of them.
"""

from __future__ import annotations

from base64 import b64encode
from io import BytesIO
from typing import TYPE_CHECKING, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing.axes import frame, marks_along, marks_up
from sparkout.drawing.colour import ORANGE, RULE, SOFT_INK
from sparkout.drawing.given import one
from sparkout.drawing.manner import Manners, manner_of
from sparkout.drawing.picture import MARGIN, SMALL, Box, Picture
from sparkout.drawing.scale import Scale, round_steps
from sparkout.drawing.svg import Attribute
from sparkout.drawing.text import text_width

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

_TALL = 90.0
_SHARP = 2
"""Pixels of the relief per px of the picture, for sharp screens."""
_TONES = 48
_FINEST = 0.05
"""mm: stubble more even than this is drawn flat."""


def ribbed_strip(stubble: ArrayLike, step: float, *, close_up: float = 250.0, **manners: Unpack[Manners]) -> str:
    """Return a strip of stubble in relief, whole and close up, with a profile along its middle, SVG text.

    Parameters
    ----------
    stubble
        (A, T) length of leaf, mm: left end first, travel along the second axis.
    step
        mm from place to place, both ways.
    close_up
        mm of travel shown close up, from the start.

    Raises
    ------
    OutOfRange
        For a map smaller than 4 x 16 places, values that are not finite, or a close-up shorter than 16 steps or longer
        than the strip.

    Examples
    --------
    >>> rows = [[4.0 + (i % 9) / 9 for i in range(400)]] * 100
    >>> ribbed_strip(rows, 0.5, close_up=100.0).startswith("<svg")
    True
    """
    manner = manner_of("strip", manners)
    heights = _map(stubble)
    spacing = one("step", step, 0.0, 1e3, above=True)
    long, wide = heights.shape[1] * spacing, heights.shape[0] * spacing
    near = one("close_up", close_up, min(16 * spacing, long), long)
    columns = round(near / spacing)
    rows = min(heights.shape[0], max(round(0.25 * columns), 2))
    first = (heights.shape[0] - rows) // 2
    part = heights[first : first + rows, :columns]
    middle = part[rows // 2]
    said = [
        manner.say("ribbed_strip_about"),
        f"{manner.length(float(part.min()))}, {manner.length(float(part.max()))}.",
    ]
    picture = Picture(manner, manner.say("ribbed_strip"), said)
    top = picture.heading()
    top = picture.paragraph(manner.say("ribbed_strip_about"), MARGIN, top, picture.right, fill=SOFT_INK) + 4
    text = manner.say("strip_whole", long=manner.place(long), wide=manner.place(wide))
    top = picture.two_ends(manner.say("left"), f"{manner.say('travel')} →", MARGIN, picture.right, top)
    top = _relief(picture, heights, Box(MARGIN, top + 2, picture.right, top + 2 + _tall(picture, heights)), spacing)
    top = picture.paragraph(manner.say("right"), MARGIN, top, picture.right)
    top = picture.paragraph(text, MARGIN, top, picture.right, fill=SOFT_INK) + 8
    ends = (float(middle.min()), float(middle.max()))
    low, high = (ends[0], ends[1]) if ends[1] - ends[0] > _FINEST else (ends[0] - _FINEST, ends[1] + _FINEST)
    ticks = round_steps(low, high, manner.unit, 4)
    left = MARGIN + min(max(text_width(manner.length(v), SMALL) for v in (*ticks, high)) + 8, picture.width / 2)
    shown = Box(left, top, picture.right, top + (picture.right - left) * rows / columns)
    top = _relief(picture, part, shown, spacing)
    text = manner.say("strip_close_up", long=manner.place(near), wide=manner.place(rows * spacing))
    top = picture.paragraph(text, left, top, picture.right, fill=SOFT_INK) + 10
    top = _profile(picture, middle, Box(left, top, picture.right, top + _TALL), (0.0, near), (low, high), ticks)
    return picture.svg(picture.paragraph(manner.say("leaf_length"), left, top, picture.right, fill=SOFT_INK))


def _map(stubble: ArrayLike) -> NDArray[np.float64]:
    import numpy as np

    heights = np.asarray(stubble, dtype=np.float64)
    if heights.ndim != 2 or heights.shape[0] < 4 or heights.shape[1] < 16:
        raise OutOfRange("stubble", heights.shape, "(across, along travel) of at least 4 x 16 places")
    if not np.isfinite(heights).all() or abs(heights).max() > 1e6:
        raise OutOfRange("stubble", "a value that is not finite", "finite lengths", "mm")
    return heights


def _tall(picture: Picture, heights: NDArray[np.float64]) -> float:
    whole = (picture.right - MARGIN) * heights.shape[0] / heights.shape[1]
    return float(min(whole, 2.0 * picture.width))


def _relief(picture: Picture, heights: NDArray[np.float64], box: Box, step: float) -> float:
    size = (round(_SHARP * (box.right - box.left)), max(round(_SHARP * (box.bottom - box.top)), 1))
    png = b64encode(relief_png(heights, step, size)).decode("ascii")
    where: dict[str, Attribute] = {"x": box.left, "y": box.top, "width": box.right - box.left}
    where |= {"height": box.bottom - box.top, "preserveAspectRatio": "none", "href": f"data:image/png;base64,{png}"}
    picture.add("image", where)
    picture.rect(box, "none", RULE)
    return box.bottom + 2


def _profile(
    picture: Picture, row: NDArray[np.float64], box: Box, near: tuple[float, float], ends: tuple[float, float],
    ticks: tuple[float, ...],
) -> float:  # fmt: skip
    manner = picture.manner
    margin = 0.08 * (ends[1] - ends[0])
    along = Scale(*near, box.left, box.right)
    up = Scale(ends[0] - margin, ends[1] + margin, box.bottom, box.top)
    marks_up(picture, up, ticks, manner.length, box.left, box.right)
    picture.trace([(along((i + 0.5) * near[1] / len(row)), up(float(v))) for i, v in enumerate(row)], ORANGE, 1.2)
    frame(picture, box)
    return marks_along(picture, along, round_steps(*near, manner.unit, 4), manner.place, box.bottom)


def relief_png(stubble: ArrayLike, step: float, size: tuple[int, int]) -> bytes:
    """Return stubble in relief as a PNG: green where it is, lit from the left and a little from the top.

    Equation: places filtered to pixels (Lanczos, so that ribs finer than a pixel leave no false ones); slopes s along
    and a across, in units of their own spread; light l . n / |n| with n = (-s, -a, 1) and l = (-0.8, -0.3, 0.52).

    Parameters
    ----------
    stubble
        (A, T) length of leaf, mm.
    step
        mm from place to place.
    size
        Width and height, px.

    Raises
    ------
    OutOfRange
        As `ribbed_strip`; for a width or height outside 1 to 4000.

    Examples
    --------
    >>> relief_png([[4.0 + i % 5 for i in range(40)]] * 8, 0.5, (40, 8))[1:4]
    b'PNG'
    """
    import numpy as np
    from PIL import Image

    heights = _map(stubble)
    spacing = one("step", step, 0.0, 1e3, above=True)
    width, tall = (int(one(f"size[{i}]", value, 1.0, 4000.0, "px")) for i, value in enumerate(size))
    averaged = Image.fromarray(heights.astype(np.float32)).resize((width, tall), Image.Resampling.LANCZOS)
    pixels = np.asarray(averaged, dtype=np.float64)
    per_pixel = heights.shape[1] * spacing / width, heights.shape[0] * spacing / tall
    flat = float(np.ptp(pixels)) < _FINEST
    slopes = [
        np.zeros_like(pixels) if flat or pixels.shape[axis] < 2 else np.gradient(pixels, per_pixel[1 - axis], axis=axis)
        for axis in (1, 0)
    ]
    spread = max(float(np.hypot(*slopes).std()), float(abs(slopes[0]).mean()), 1e-9)
    along, across = (1.1 * slope / spread for slope in slopes) if not flat else slopes
    light = (0.8 * along + 0.3 * across + 0.52) / np.sqrt(along**2 + across**2 + 1.0)
    tone = np.rint(np.clip(0.30 + 0.62 * light, 0.0, 1.0) * (_TONES - 1)).astype(np.uint8)
    image = Image.fromarray(tone, mode="P")
    image.putpalette([channel for i in range(_TONES) for channel in _green(i / (_TONES - 1))])
    out = BytesIO()
    image.save(out, "PNG", optimize=True)
    return out.getvalue()


def _green(light: float) -> tuple[int, int, int]:
    """A tone of turf between deep shade and full light."""
    shade, lit = (24, 44, 28), (214, 232, 178)
    r, g, b = (round(low + (high - low) * light) for low, high in zip(shade, lit, strict=True))
    return r, g, b
