"""The world outside the command line, as one object, so that a test can stand in for it."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from datetime import date

DONE, REFUSED, USAGE = 0, 1, 2
"""Exit statuses: answered; could not be answered as asked; the command itself was not understood."""


@dataclass(frozen=True, slots=True)
class World:
    """Where text goes, what the environment says, where we stand."""

    out: TextIO
    err: TextIO
    env: Mapping[str, str]
    folder: Path

    @classmethod
    def real(cls) -> World:
        """Return the process's own streams, able to say any letter."""
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(encoding="utf-8", errors="replace")
        return cls(sys.stdout, sys.stderr, os.environ, Path.cwd())

    def say(self, text: str = "") -> None:
        """Write a line for the reader."""
        self.out.write(text + "\n")

    def complain(self, text: str) -> None:
        """Write a line about what went wrong."""
        self.err.write(text + "\n")

    def today(self) -> date:
        """Return the day, from SPARKOUT_TODAY when set (so that an answer can be repeated)."""
        from datetime import date

        fixed = self.env.get("SPARKOUT_TODAY")
        return date.fromisoformat(fixed) if fixed else date.today()
