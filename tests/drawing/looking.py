"""Looks at a picture without the drawing room's own sums: parses the SVG, and measures its texts with the ink boxes
of the real font file (tables cmap, hmtx, glyf of the TrueType format, read here)."""

from __future__ import annotations

import re
import struct
import xml.etree.ElementTree as ET
from functools import cache
from pathlib import Path
from typing import NamedTuple

import font_source_sans_pro

FONTS = Path(font_source_sans_pro.__file__).parent / "files"
SVG = "{http://www.w3.org/2000/svg}"
DRAWN = {"svg", "title", "desc", "defs", "pattern", "clipPath", "path", "line", "rect", "circle", "text", "image"}
LINKED = {"g", "a"}
"""Further elements of a picture that leads somewhere: the image itself in a group, links beside it."""


class Font:
    """Advance widths and ink heights of a TrueType font, by character, in thousandths of the type size."""

    def __init__(self, name: str) -> None:
        self.data = (FONTS / name).read_bytes()
        count = self._u16(4)
        self.tables = {
            self.data[12 + 16 * i : 16 + 16 * i].decode(): struct.unpack(">I", self.data[20 + 16 * i : 24 + 16 * i])[0]
            for i in range(count)
        }
        assert self._u16(self.tables["head"] + 18) == 1000
        self.long_loca = self._u16(self.tables["head"] + 50) == 1
        self.metrics = self._u16(self.tables["hhea"] + 34)
        self.glyphs = self._character_map()

    def _u16(self, at: int) -> int:
        return int.from_bytes(self.data[at : at + 2], "big")

    def _s16(self, at: int) -> int:
        return int.from_bytes(self.data[at : at + 2], "big", signed=True)

    def _character_map(self) -> dict[int, int]:
        start, found = self.tables["cmap"], {}
        for i in range(self._u16(start + 2)):
            table = start + struct.unpack(">I", self.data[start + 8 + 8 * i : start + 12 + 8 * i])[0]
            if self._u16(table) != 4:
                continue
            segments = self._u16(table + 6) // 2
            for j in range(segments):
                end, begin = self._u16(table + 14 + 2 * j), self._u16(table + 16 + 2 * (segments + j))
                delta, place = (
                    self._u16(table + 16 + 2 * (2 * segments + j)),
                    table + 16 + 2 * (3 * segments + j),
                )
                offset = self._u16(place)
                for code in range(begin, end + 1):
                    glyph = self._u16(place + offset + 2 * (code - begin)) if offset else code
                    if glyph:
                        found[code] = (glyph + delta) & 0xFFFF
        return found

    def has(self, character: str) -> bool:
        return ord(character) in self.glyphs

    def advance(self, character: str) -> int:
        glyph = self.glyphs.get(ord(character), 0)
        return self._u16(self.tables["hmtx"] + 4 * min(glyph, self.metrics - 1))

    def ink(self, character: str) -> tuple[int, int]:
        """Lowest and highest ink above the base line."""
        glyph, loca = self.glyphs.get(ord(character), 0), self.tables["loca"]
        if self.long_loca:
            begin, end = struct.unpack(">II", self.data[loca + 4 * glyph : loca + 4 * glyph + 8])
        else:
            begin, end = 2 * self._u16(loca + 2 * glyph), 2 * self._u16(loca + 2 * glyph + 2)
        if begin == end:
            return 0, 0
        at = self.tables["glyf"] + begin
        return self._s16(at + 4), self._s16(at + 8)


@cache
def regular() -> Font:
    return Font("SourceSansPro-Regular.ttf")


@cache
def semibold() -> Font:
    return Font("SourceSansPro-Semibold.ttf")


class Ink(NamedTuple):
    """Where the ink of a text lies."""

    text: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Ink) -> bool:
        aside = self.left < other.right and other.left < self.right
        return aside and self.top < other.bottom and other.top < self.bottom


def parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def texts(root: ET.Element) -> list[str]:
    return [element.text or "" for element in root.iter(SVG + "text")]


def inks(root: ET.Element) -> list[Ink]:
    """The ink box of every text."""
    found = []
    for element in root.iter(SVG + "text"):
        text, size = element.text or "", float(element.get("font-size", "0"))
        font = semibold() if element.get("font-weight") == "600" else regular()
        width = sum(map(font.advance, text)) * size / 1000
        shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor", "start")]
        x, y = float(element.get("x", "nan")) - shift * width, float(element.get("y", "nan"))
        heights = [font.ink(character) for character in text]
        top, bottom = max(h[1] for h in heights), min(h[0] for h in heights)
        found.append(Ink(text, x, y - top * size / 1000, x + width, y - bottom * size / 1000))
    return found


def problems(svg: str) -> list[str]:
    """Everything that is wrong with a picture; empty when nothing is."""
    root = parsed(svg)
    width, height = float(root.get("width", "0")), float(root.get("height", "0"))
    return [
        *_wrong_frame(root, width, height),
        *_wrong_elements(root, width, height),
        *_wrong_texts(root, width, height),
    ]


def _wrong_frame(root: ET.Element, width: float, height: float) -> list[str]:
    found = []
    if root.get("viewBox") != f"0 0 {root.get('width')} {root.get('height')}":
        found.append(f"view box {root.get('viewBox')} is not the size {width} x {height}")
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    if len(ids) != len(set(ids)):
        found.append(f"ids repeat: {ids}")
    links = root.findall(SVG + "a")
    image = root.find(SVG + "g") if links else root
    assert image is not None
    named = (image.get("aria-labelledby") or "").split()
    if image.get("role") != "img" or not named or any(name not in ids for name in named):
        found.append("not named for a screen reader")
    if any(link.get("aria-label") != link.findtext(SVG + "title") or not link.get("aria-label") for link in links):
        found.append("a link without a name")
    if image.find(f".//{SVG}a") is not None:
        found.append("a link inside the image, where it cannot be reached")
    for kind in ("title", "desc"):
        element = image.find(SVG + kind)
        if element is None or not (element.text or "").strip():
            found.append(f"no {kind}")
    used = set(re.findall(r"url\(#([^)]*)\)", ET.tostring(root, encoding="unicode")))
    if not used <= set(ids):
        found.append(f"refers to {used - set(ids)}, which is not there")
    return found


def _wrong_elements(root: ET.Element, width: float, height: float) -> list[str]:
    found = []
    for element in root.iter():
        name = element.tag.removeprefix(SVG)
        if name not in DRAWN | LINKED:
            found.append(f"element {name}")
        if element.get("style"):
            found.append("style attribute")
        for key, value in element.attrib.items():
            if key in ("id", "class", "aria-labelledby", "aria-label", "href") or value.startswith("#"):
                continue
            if re.search(r"nan|inf(?!o)|\de[-+]?\d|\.\d{3}", value):
                found.append(f"{name} {key}={value[:60]}")
        if name in ("rect", "image", "circle", "line", "path") and not element.get("clip-path"):
            found += [f"{name} outside: {p}" for p in _corners(element, name) if not _inside(p, width, height)]
    return found


def _corners(element: ET.Element, name: str) -> list[tuple[float, float]]:
    def at(key: str) -> float:
        return float(element.get(key, "0"))

    if name in ("rect", "image"):
        return [(at("x"), at("y")), (at("x") + at("width"), at("y") + at("height"))]
    if name == "path":
        pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", element.get("d", ""))
        return [(float(x), float(y)) for x, y in pairs]
    if name == "circle":
        return [(at("cx") - at("r"), at("cy") - at("r")), (at("cx") + at("r"), at("cy") + at("r"))]
    return [(at("x1"), at("y1")), (at("x2"), at("y2"))]


def _inside(point: tuple[float, float], width: float, height: float) -> bool:
    return -0.5 <= point[0] <= width + 0.5 and -0.5 <= point[1] <= height + 0.5


def _wrong_texts(root: ET.Element, width: float, height: float) -> list[str]:
    # 12 px on a phone: the picture is shown 390 px wide, or at its own size when that is larger
    scale = max(1.0, 390.0 / width)
    found = [
        f"small text: {element.text}"
        for element in root.iter(SVG + "text")
        if float(element.get("font-size", "0")) * scale < 12.0
    ]
    boxes = inks(root)
    for i, box in enumerate(boxes):
        if box.left < 0 or box.right > width or box.top < 0 or box.bottom > height:
            found.append(f"text over the edge: {box}")
        found += [f"texts meet: {box} {other}" for other in boxes[i + 1 :] if box.meets(other)]
    return found
