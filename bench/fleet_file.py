"""An invented fleet's file in Parquet, written in batches by a seeded generator: of any size, never whole in memory.

python bench/fleet_file.py OUT.parquet UNITS [READINGS] [SEED]
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

UNITS_AT_ONCE = 50_000
WORKSHOPS, DUTIES = 200, 3
LAST_DAY = 20_400
"""2025-11-08: no reading is later."""


def block(first: int, units: int, per: int, total: int, rng: np.random.Generator) -> pa.Table:
    """Return readings of some units in a row; neighbours are of one workshop."""
    at = first + np.arange(units)
    workshop = at * WORKSHOPS // max(total, 1)
    duty = at % DUTIES
    level = np.random.default_rng(1)
    rates = 0.0015 + level.normal(0, 0.0002, WORKSHOPS)[workshop] + np.array([0.0, 0.0003, -0.0002])[duty]
    slope = np.maximum(rates + rng.normal(0, 0.0003, units), 2e-4)
    start = 127 + rng.normal(0, 0.3, units)
    hours = np.sort(rng.uniform(0, 900, (units, per)), axis=1)
    sand, ground = np.floor(hours / 90), 0.3 * np.floor(hours / 250)
    size = start[:, None] - slope[:, None] * hours - 0.01 * sand - ground + rng.normal(0, 0.05, hours.shape)
    ends = LAST_DAY - 900 / 1.5
    return pa.table(
        {
            "unit": pa.array(np.char.add("U", at.astype(str))).take(pa.array(np.repeat(np.arange(units), per))),
            "workshop": pa.array([f"W{i}" for i in range(WORKSHOPS)]).take(pa.array(np.repeat(workshop, per))),
            "duty": pa.array(["greens", "tees", "fairways"]).take(pa.array(np.repeat(duty, per))),
            "date": pa.array((ends + hours.ravel() / 1.5).astype(np.int32), pa.date32()),
            "hours": hours.ravel(),
            "diameter (mm)": size.ravel(),
            "ground so far (mm)": ground.ravel(),
            "sandings so far": sand.ravel(),
        }
    )


def written(path: Path, units: int, per: int = 9, seed: int = 7) -> Path:
    """Write the file and return where it is."""
    rng = np.random.default_rng(seed)
    writer = None
    for first in range(0, units, UNITS_AT_ONCE):
        table = block(first, min(UNITS_AT_ONCE, units - first), per, units, rng)
        writer = writer or pq.ParquetWriter(path, table.schema)
        writer.write_table(table)
    if writer is not None:
        writer.close()
    return path


if __name__ == "__main__":
    written(Path(sys.argv[1]), *map(int, sys.argv[2:]))
