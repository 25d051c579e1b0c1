"""Reading printed figures: the value, and half of its last printed digit."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any


def printed(text: str) -> tuple[float, float]:
    """Return the value and half a unit of its last printed digit, as evidence tables take them.

    The half is widened by one part in 1e9 of itself, so that an obtained value exactly on the rounding edge is not
    refused for the last bit of a binary number.
    """
    number = Decimal(text)
    exponent = number.as_tuple().exponent
    assert isinstance(exponent, int)
    return float(number), 0.5 * 10.0**exponent * (1 + 1e-9)


def data(name: str) -> Any:
    """Return a data file that stands beside the tests, each naming its source."""
    return json.loads((Path(__file__).parent / "data" / name).read_text(encoding="utf-8"))
