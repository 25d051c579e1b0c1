"""A picture under way: elements are added, then it is written out as one SVG text.

It also remembers where its texts stand, so that a label can look for a free place.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple

from sparkout.drawing.colour import INK, WHITE
from sparkout.drawing.manner import Manner
from sparkout.drawing.svg import Attribute, Point, element, escape, number, path_through
from sparkout.drawing.text import ASCENT, DESCENT, text_width, wrapped

MARGIN = 10.0
SMALL = 12.0
"""The least type size: 12 px on a phone."""
LINE = 16.0
"""Distance of base lines at the least type size."""
TYPEFACE = "Source Sans Pro, sans-serif"


class Box(NamedTuple):
    """The room a text takes."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        """Whether the two share any room."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )


class Spot(NamedTuple):
    """A place where a label could stand: anchor point on the base line and which end of the text is there."""

    x: float
    y: float
    anchor: str = "start"


def box_of(text: str, spot: Spot, size: float) -> Box:
    """Return the room a text takes when it stands at a spot."""
    wide = text_width(text, size)
    left = {"start": spot.x, "middle": spot.x - wide / 2, "end": spot.x - wide}[spot.anchor]
    return Box(left, spot.y - ASCENT * size, left + wide, spot.y + DESCENT * size)


class Picture:
    """Elements in drawing order, with the texts' boxes."""

    def __init__(self, manner: Manner, title: str, described: Iterable[str]) -> None:
        self.manner = manner
        self.width = manner.width
        self.right = manner.width - MARGIN
        self.title = title
        self.described = [line for line in described if line]
        self.boxes: list[Box] = []
        self._drawn: list[str] = []
        self._links: list[str] = []
        self._defined: dict[str, str] = {}

    # shapes ------------------------------------------------------------------------------------------------

    def add(self, name: str, attributes: dict[str, Attribute], tooltip: str = "") -> None:
        """Add one element; a tooltip becomes its own title for pointer and screen reader."""
        self._drawn.append(element(name, attributes, f"<title>{escape(tooltip)}</title>" if tooltip else ""))

    def line(self, start: Point, end: Point, stroke: str = INK, width: float = 1.0, dash: str | None = None) -> None:
        """Add a straight line."""
        ends: dict[str, Attribute] = {"x1": start[0], "y1": start[1], "x2": end[0], "y2": end[1]}
        self.add("line", {**ends, "stroke": stroke, "stroke_width": width, "stroke_dasharray": dash})

    def rect(self, box: Box, fill: str, stroke: str | None = None, kind: str | None = None, tooltip: str = "") -> None:
        """Add a rectangle."""
        size: dict[str, Attribute] = {"width": max(box.right - box.left, 0.0), "height": max(box.bottom - box.top, 0.0)}
        self.add("rect", {"class": kind, "x": box.left, "y": box.top, **size, "fill": fill, "stroke": stroke}, tooltip)

    def shape(
        self, points: Sequence[Point], fill: str, stroke: str | None = None, width: float = 1.0, **more: Attribute
    ) -> None:
        """Add a closed polygon."""
        drawn: dict[str, Attribute] = {"d": path_through(points, closed=True), "fill": fill}
        self.add("path", {**drawn, "stroke": stroke, "stroke_width": width if stroke else None, **more})

    def trace(self, points: Sequence[Point], stroke: str = INK, width: float = 1.5, **more: Attribute) -> None:
        """Add an open line through points."""
        drawn: dict[str, Attribute] = {"d": path_through(points), "fill": "none", "stroke": stroke}
        self.add("path", {**drawn, "stroke_width": width, "stroke_linejoin": "round", **more})

    def circle(
        self, centre: Point, radius: float, fill: str, stroke: str | None = INK, width: float = 1.2, tooltip: str = ""
    ) -> None:
        """Add a circle."""
        drawn: dict[str, Attribute] = {"cx": centre[0], "cy": centre[1], "r": radius, "fill": fill}
        self.add("circle", {**drawn, "stroke": stroke, "stroke_width": width if stroke else None}, tooltip)

    def link(self, href: str, box: Box, label: str, **more: Attribute) -> None:
        """Make a part of the picture lead somewhere; the label is told on pointing and to a screen reader."""
        size: dict[str, Attribute] = {"width": box.right - box.left, "height": box.bottom - box.top}
        target = element("rect", {"x": box.left, "y": box.top, **size, "fill": "none", "pointer_events": "all"})
        told = f"<title>{escape(label)}</title>"
        self._links.append(element("a", {"href": href, "aria_label": label, **more}, told + target))

    def hatch(self, name: str, stroke: str, gap: float = 6.0, angle: float = 45.0, width: float = 1.0) -> str:
        """Return the paint for a hatch; it is defined once per picture."""
        return self._define(
            name,
            lambda key: element(
                "pattern",
                {
                    "id": key, "width": gap, "height": gap, "patternUnits": "userSpaceOnUse",
                    "patternTransform": f"rotate({number(angle)})",
                },
                element("path", {"d": f"M0 0V{number(gap)}", "stroke": stroke, "stroke_width": 2 * width}),
            ),
        )  # fmt: skip

    def window(self, name: str, box: Box) -> str:
        """Return the reference of a clipping window, for `clip_path=`."""
        rectangle = {
            "x": box.left, "y": box.top, "width": box.right - box.left, "height": box.bottom - box.top,
        }  # fmt: skip
        return self._define(name, lambda key: element("clipPath", {"id": key}, element("rect", {**rectangle})))

    def _define(self, name: str, made: Callable[[str], str]) -> str:
        key = f"{self.manner.prefix}-{name}"
        self._defined.setdefault(name, made(key))
        return f"url(#{key})"

    # texts -------------------------------------------------------------------------------------------------

    def text(
        self,
        text: str,
        spot: Spot,
        size: float = SMALL,
        *,
        bold: bool = False,
        fill: str = INK,
        kind: str | None = None,
    ) -> None:
        """Add one line of text."""
        if not text.strip():
            return
        self.boxes.append(box_of(text, spot, size))
        self._drawn.append(
            element(
                "text",
                {
                    "class": kind, "x": spot.x, "y": spot.y, "font_size": size, "fill": fill,
                    "text_anchor": None if spot.anchor == "start" else spot.anchor,
                    "font_weight": "600" if bold else None,
                },
                escape(text),
            )
        )  # fmt: skip

    def paragraph(
        self, text: str, left: float, top: float, right: float, size: float = SMALL, *,
        anchor: str = "start", bold: bool = False, fill: str = INK, kind: str | None = None,
    ) -> float:  # fmt: skip
        """Add text in as many lines as it needs between two edges; returns the new top below it."""
        x = {"start": left, "middle": (left + right) / 2, "end": right}[anchor]
        step = size * LINE / SMALL
        for line in wrapped(text, size, right - left):
            self.text(line, Spot(x, top + size, anchor), size, bold=bold, fill=fill, kind=kind)
            top += step
        return top

    def heading(self) -> float:
        """Add the picture's title at the top, unless the page has it; returns the top of what follows."""
        if not self.manner.titled:
            return 4.0
        return self.paragraph(self.title, MARGIN, 6.0, self.right, 15.0, bold=True, kind="heading") + 2.0

    def two_ends(self, left_text: str, right_text: str, left: float, right: float, top: float) -> float:
        """Add one text at each side, side by side; returns the new top."""
        middle = (left + right) / 2
        return max(
            self.paragraph(left_text, left, top, middle - 5),
            self.paragraph(right_text, middle + 5, top, right, anchor="end"),
        )

    def is_free(self, box: Box, room: Box | None = None) -> bool:
        """Whether a text could stand in the box: inside the room and clear of every other text."""
        inside = room or Box(2.0, 0.0, self.width - 2.0, 1e9)
        if box.left < inside.left or box.right > inside.right or box.top < inside.top or box.bottom > inside.bottom:
            return False
        return not any(box.meets(other) for other in self.boxes)

    def label(
        self, text: str, spots: Iterable[Spot], room: Box | None = None, *,
        fill: str = INK, plate: bool = False,
    ) -> bool:  # fmt: skip
        """Add the text at the first spot that is free, on a light plate if asked; returns whether there was one."""
        for spot in spots:
            box = box_of(text, spot, SMALL)
            if self.is_free(box, room):
                if plate:
                    # the box is an upper estimate; the plate need not cover all of it
                    spare = 0.08 * (box.right - box.left) * {"start": 0.0, "middle": 0.5, "end": 1.0}[spot.anchor]
                    wide = 0.92 * (box.right - box.left) + 2
                    where: dict[str, Attribute] = {"x": box.left + spare - 1, "y": box.top, "width": wide}
                    height = box.bottom - box.top
                    self.add("rect", {**where, "height": height, "fill": WHITE, "fill_opacity": 0.85})
                self.text(text, spot, fill=fill)
                return True
        return False

    # the whole ---------------------------------------------------------------------------------------------

    def svg(self, bottom: float) -> str:
        """Return the picture as SVG text, ending `MARGIN` below `bottom`.

        A picture with links is a picture and links beside each other: inside an image nothing could be reached.
        """
        prefix = self.manner.prefix
        height = round(bottom + MARGIN)
        inside = [
            element("title", {"id": f"{prefix}-title"}, escape(self.title)),
            element("desc", {"id": f"{prefix}-desc"}, escape(" ".join(self.described) or self.title)),
        ]
        if self._defined:
            inside.append(element("defs", {}, "".join(self._defined.values())))
        named: dict[str, Attribute] = {"role": "img", "aria_labelledby": f"{prefix}-title {prefix}-desc"}
        attributes: dict[str, Attribute] = {
            "xmlns": "http://www.w3.org/2000/svg", "class": "picture",
            "viewBox": f"0 0 {number(self.width)} {height}", "width": self.width, "height": float(height),
            **({} if self._links else named), "font_family": TYPEFACE,
        }  # fmt: skip
        drawn = "\n".join(inside + self._drawn)
        if self._links:
            drawn = element("g", named, f"\n{drawn}\n") + "\n" + "\n".join(self._links)
        return element("svg", attributes, f"\n{drawn}\n") + "\n"


Draw = Callable[[Picture, Point], None]
"""Draws a mark in a picture, centred on a point."""


def legend(picture: Picture, top: float, entries: Iterable[tuple[Draw, str]]) -> float:
    """Add a key below the picture, one mark and its text per line; returns the new top."""
    for draw, text in entries:
        draw(picture, (MARGIN + 9.0, top + 8.0))
        top = picture.paragraph(text, MARGIN + 26.0, top, picture.right) + 1.0
    return top
