"""How much room a line of text takes, before anything has drawn it.

Widths are the advance widths of Source Sans Pro Semibold (the widest weight drawn here) in thousandths of
the type size, rounded up to a few steps, and a tenth is added: where that typeface is missing a page falls back on a
common sans-serif, which runs wider. tests/drawing/test_text.py holds the table against the font file.
"""

from __future__ import annotations

from functools import lru_cache

_WIDTHS: dict[int, str] = {
    205: " \u00a0",
    260: "|",
    290: "',.:;Iijl·’íìîï",
    325: "!()-[]f{}",
    350: "/\\°",
    380: "rt",
    460: "*?sz",
    485: '"cx–“”„ç',
    500: "J_vy",
    515: "#$+0123456789<=>FLY^e~±×−γ≤≥≈éèêë",
    525: "agkäáàâ",
    560: "AESTVXZ`hnouöüóòôúùûñÄÉ",
    580: "Cbdpqµα",
    600: "BKPRβ",
    630: "DG→←↑↓ß",
    660: "&NUÜ",
    680: "HOQÖ",
    710: "φ",
    750: "Mw",
    810: "W—¼¾",
    850: "%m½⅛",
    880: "@",
}
_WIDTH_OF = {character: width for width, row in _WIDTHS.items() for character in row}
HARD_SPACE = "\u00a0"
_OTHER = 970
_SPARE = 1.1
ASCENT, DESCENT = 0.80, 0.26
"""Share of the type size above and below the base line that a line of text is taken to fill."""


@lru_cache(8192)
def text_width(text: str, size: float) -> float:
    """Return an upper estimate of the width of a line of text, in the unit of `size`.

    Equation: 1.1 size/1000 times the sum of advance widths. Validity: Latin text in a common sans-serif.
    Source: advance widths of the open typeface named above.

    Examples
    --------
    >>> round(text_width("0.05 mm", 12), 1)
    49.4
    """
    return _SPARE * size / 1000.0 * sum(_WIDTH_OF.get(character, _OTHER) for character in text)


def wrapped(text: str, size: float, width: float) -> list[str]:
    """Return the text as lines no wider than `width`; a word that alone is wider is broken with a hyphen.

    A hard space keeps a figure with its unit; it is written as a plain blank.

    Examples
    --------
    >>> wrapped("lowest: blade 7 at the right end", 12, 110)
    ['lowest: blade 7 at', 'the right end']
    """
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        if not word:
            continue
        for piece in _pieces(word, size, width):
            longer = f"{line} {piece}" if line else piece
            if line and text_width(longer, size) > width:
                lines.append(line)
                line = piece
            else:
                line = longer
    return [done.replace(HARD_SPACE, " ") for done in ([*lines, line] if line else lines)]


def _pieces(word: str, size: float, width: float) -> list[str]:
    pieces = []
    while len(word) > 1 and text_width(word, size) > width:
        cut = len(word) - 1
        while cut > 1 and text_width(word[:cut] + "-", size) > width:
            cut -= 1
        pieces.append(word[:cut] + "-")
        word = word[cut:]
    return [*pieces, word]


def hard(text: str) -> str:
    """Return the text with hard spaces, so that it is never parted at a line end.

    Examples
    --------
    >>> wrapped("about " + hard("0.05 mm"), 12, 70)
    ['about', '0.05 mm']
    """
    return text.replace(" ", HARD_SPACE)


def shortened(text: str, size: float, width: float) -> str:
    """Return the text, or as much of its beginning as fits with a full stop pair after it.

    Examples
    --------
    >>> shortened("rough", 12, 100), shortened("a very long label", 12, 50)
    ('rough', 'a very l..')
    """
    if text_width(text, size) <= width:
        return text
    keep = len(text)
    while keep > 0 and text_width(text[:keep] + "..", size) > width:
        keep -= 1
    return text[:keep].rstrip() + ".."
