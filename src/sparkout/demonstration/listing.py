"""Where the demonstration's visit files are."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path


def demonstration_files() -> dict[str, Path]:
    """Return the demonstration's visit files by name, the main one first.

    Examples
    --------
    >>> list(demonstration_files())[0]
    'coned'
    """
    folder = Path(str(files("sparkout.demonstration").joinpath("units")))
    found = {path.stem: path for path in sorted(folder.glob("*.toml"))}
    return {"coned": found.pop("coned"), **found}
