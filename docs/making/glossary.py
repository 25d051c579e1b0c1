"""docs/glossary.md from the glossary in the code."""

from __future__ import annotations

from docs.making.markdown import table

from sparkout.glossary import QUANTITIES, TERMS
from sparkout.units import KINDS

INTRODUCTION = """\
# Glossary

Made from `src/sparkout/glossary.py` by `python docs/make.py`; change the code, not the page.

Left and right are the hands of an operator behind the machine, facing travel. Signs are told in
[decisions/0002-definitions.md](decisions/0002-definitions.md).
"""


def page() -> str:
    """Return the page: each quantity once, and the trade's words in both vocabularies."""
    quantities = [(f"`{key}`", q.name, q.symbol, _units(q.kind), q.meaning) for key, q in QUANTITIES.items()]
    parts = [INTRODUCTION, "\n## Quantities\n", table(("key", "name", "symbol", "unit", "meaning"), quantities)]
    parts += ["\n## Trade words\n", "One interface, two vocabularies: `--words uk` and `--words us`.\n"]
    parts.append(table(("UK", "US", "meaning"), [(t.uk, t.us, t.meaning) for t in TERMS]))
    return "\n".join(parts)


def _units(kind: str) -> str:
    entry = KINDS[kind]
    units = dict.fromkeys(unit for unit in (entry.metric, entry.imperial) if unit)
    return " or ".join(units) or "none"
