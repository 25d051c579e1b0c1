from pathlib import Path

import pytest
from tests.records.workshops import Bench, bench


@pytest.fixture
def on_bench(records: Path) -> Bench:
    return bench()
