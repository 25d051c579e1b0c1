"""What somebody typed, as it is read on a page: not changed in meaning, but in the reader's own signs."""

from __future__ import annotations

import datetime
import re
from typing import TYPE_CHECKING

from sparkout.core.days import dated

if TYPE_CHECKING:
    from sparkout.showing import Showing

_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_NUMBER = re.compile(r"([-−]?)(\d+(?:\.\d+)?)( ?(?:%|°|1/min|[a-zµμA-Z]+(?:/[a-z]+)?))?([23]?)")
"""A number alone or with its unit; anything longer may be a name, and is left as it was typed."""


def as_read(text: str, showing: Showing) -> str:
    """Return a day in words, a number with the reader's decimal mark, a square as one; a name stays as it is.

    Examples
    --------
    >>> from sparkout.showing import Showing
    >>> german = Showing(decimal=",", language="de")
    >>> [as_read(text, german) for text in ("2026-11-03", "-0.02 mm", "3.5 m/s2", "tape 1.2", "v1.2")]
    ['3. Nov. 2026', '−0,02 mm', '3,5 m/s²', 'tape 1.2', 'v1.2']
    """
    if _DAY.fullmatch(text):
        try:
            return showing.say(dated(datetime.date.fromisoformat(text)))
        except ValueError:  # 2026-02-31 is no day: it stays as it was typed
            return text
    found = _NUMBER.fullmatch(text)
    if found is None:
        return text
    sign, number, unit, power = found.groups()
    told = ("−" if sign else "") + number.replace(".", showing.decimal) + (unit or "")
    return told + (power if not unit else {"2": "²", "3": "³"}.get(power, ""))
