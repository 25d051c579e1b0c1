"""Writes the demonstration's visit files anew: `python -m sparkout.demonstration.make`. Same seed, same bytes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sparkout.demonstration.fairway import bent_shaft
from sparkout.demonstration.greens import coned, coned_as_left, frame_out, three_readings

if TYPE_CHECKING:
    from sparkout.demonstration.scenario import Scenario

FOLDER = Path(__file__).with_name("units")


def scenarios() -> dict[str, Scenario]:
    """Return every demonstration visit by name, with the truth behind it."""
    made = (coned(), frame_out(), bent_shaft(), coned_as_left(), three_readings())
    return {scenario.name: scenario for scenario in made}


def write(folder: Path = FOLDER) -> list[Path]:
    """Write the files into a folder and return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, scenario in scenarios().items():
        path = folder / f"{name}.toml"
        path.write_text(scenario.text, encoding="utf-8", newline="\n")
        written.append(path)
    return written


if __name__ == "__main__":
    for each in write():
        print(each.name)
