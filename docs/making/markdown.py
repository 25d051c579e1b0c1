"""Markdown tables."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Lay a table out; a bar inside a cell does not end it."""
    lines = [head, ("---",) * len(head), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines) + "\n"
