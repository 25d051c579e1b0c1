"""The world outside the command line, as one object, so that a test can stand in for it."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path
    from typing import TextIO

DONE, REFUSED, USAGE = 0, 1, 2
"""Exit statuses: answered; could not be answered as asked; the command itself was not understood."""


class World:
    """Where text goes, what the environment says, where we stand."""

    __slots__ = ("_folder", "env", "err", "out")

    def __init__(self, out: TextIO, err: TextIO, env: Mapping[str, str], folder: Path | None = None) -> None:
        self.out = out
        self.err = err
        self.env = env
        self._folder = folder

    @property
    def folder(self) -> Path:
        """Where we stand: the current folder unless another was given."""
        from pathlib import Path  # slow to import, and a quick sum needs no file

        return Path.cwd() if self._folder is None else self._folder

    @classmethod
    def real(cls) -> World:
        """Return the process's own streams, able to say any letter."""
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(encoding="utf-8", errors="replace")
        return cls(sys.stdout, sys.stderr, os.environ)

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
