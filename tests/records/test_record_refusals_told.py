# ruff: noqa: E501 - tables as they stand
"""Why a row was refused, in the reader's language: no sentence of the reason is English to a German reader."""

from __future__ import annotations

import re

import pytest
from tests.records.test_record_tables_in import received
from tests.records.workshops import Bench
from tests.translation.test_catalogues import ENGLISH

from sparkout.records.bringing.operations import try_table
from sparkout.records.bringing.store import TRIAL, Outcomes
from sparkout.records.jobs import do_now
from sparkout.showing import Showing

TABLES = {
    "fleet": "Mower,Position,Unit,Reel serial,Blades,Diameter (mm),Length (mm)\nm,front,N1,S1,eleven,127,533\nm,rear,N2,S2,11,-3 mm,533\n"
    "m,left,N3,S3,400,127,533 furlongs\nm,right,,S4,11,127,533\nm,rear,N5,S5,11,900 mm,533\n",
    "hours": "Unit,Date,Hours\nG1 left,30 Feb 2025,3 h\nG1 left,2025-04-03,soon\nnone,2025-04-03,3 h\nunit 3,2025-04-03,-4 h\n",
    "readings": "Unit,Date,Dia left,Dia right,Gauge,Remarks\nunit 3,2025-04-03,126.4,1266,tape 1,x\nunit 3,2025-04-04,126,=1+1,tape 9,\nunit 3,2025-04-05,0.001,126,,\n",
}  # fmt: skip
OWN = re.compile(r"'[^']*'|“[^”]*”|\b(unit 3|tape \d|Dia (left|right))\b")
"""What the file itself says, told as it stands."""


def reasons(on: Bench, content: str) -> list[str]:
    file = received(on, content)
    job = do_now(try_table(actor=on.me, file=file))
    assert job.state == "done", job.message
    return [told.why for told in Outcomes(file, TRIAL).read() if told.what == "refused"]


@pytest.mark.parametrize("name", TABLES)
def test_why_a_row_is_refused_is_told_in_german(on_bench: Bench, name: str) -> None:
    found = reasons(on_bench, TABLES[name])
    assert found
    for why in found:
        told = Showing(language="de", decimal=",").say(why)
        assert told != str(why)
        assert not ENGLISH.search(OWN.sub("", told)), told


def test_what_was_typed_stays_as_typed_in_any_language_and_unit(on_bench: Bench) -> None:
    for why in reasons(on_bench, TABLES["fleet"]):
        for showing in (Showing("inch", "us"), Showing("inch", "us", language="de")):
            quoted = set(re.findall(r"'[^']*'", str(why)))
            assert quoted <= set(re.findall(r"'[^']*'", showing.say(why))), showing.quoting(why)
