"""One workshop with three ways in: the API and the page; Python and the command line need none of it."""

from dataclasses import dataclass
from pathlib import Path

import pytest
from django.test import Client
from tests.api.conftest import Program, program
from tests.records.workshops import Bench, bench
from tests.web.conftest import sat_down


@dataclass
class Doors:
    """The test workshop's bench, a program with a token at it, and a browser of the same person."""

    bench: Bench
    api: Program
    browser: Client


@pytest.fixture
def doors(records: Path) -> Doors:
    on = bench()
    return Doors(on, program(on.me), sat_down(on.me))
