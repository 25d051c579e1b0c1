"""`sparkout import` and `sparkout export`, as processes on a data folder of their own."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest
from tests.cli.commands import process, run

DONE, REFUSED, USAGE = 0, 1, 2
FLEET = "Mower,Unit,Reel serial,Blades,Dia (in),Length (mm)\nG9,A,R1,11,5,533\nG9,B,R2,11,500,533\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A data folder with a workshop set up in it."""
    code = (
        "import sys; from pathlib import Path; from sparkout.server.data_folder import make_ready; "
        "from sparkout.server.run import start_django; d = Path(sys.argv[1]); make_ready(d); start_django(d); "
        "from sparkout.records.operations.workshop import set_up_workshop; "
        "set_up_workshop(name='test', first_person='AB')"
    )
    import sys

    subprocess.run([sys.executable, "-c", code, str(tmp_path / "data")], check=True, capture_output=True)
    (tmp_path / "fleet.csv").write_text(FLEET)
    return tmp_path


def test_in_twice_and_out(folder: Path) -> None:
    data = ("--data", folder / "data")
    tried = process("import", "fleet.csv", *data, "--dry-run", folder=folder)
    assert tried.returncode == REFUSED
    assert b"1 row adds" in tried.stdout
    assert b"nothing is changed" in tried.stdout
    assert b"row 3: reel diameter when new: '500 in'" in tried.stderr.replace(b", which is 12700 mm,", b"")
    first = process("import", "fleet.csv", *data, "--json", folder=folder)
    told = json.loads(first.stdout)
    assert (told["counts"]["adds"], told["counts"]["refused"], told["refused"][0]["row"]) == (1, 1, 3)
    again = process("import", "fleet.csv", *data, "--json", "--as", "AB", folder=folder)
    assert json.loads(again.stdout)["counts"]["same"] == 1
    for name in ("all.xlsx", "all.zip", "all.json"):
        out = process("export", name, *data, "--units", "inch", "--decimal", ",", folder=folder)
        assert (out.returncode, (folder / name).exists()) == (DONE, True), out.stderr
        back = process("import", name, *data, folder=folder)
        assert (back.returncode, b"0 rows add" in back.stdout) == (DONE, True), back.stderr


def test_days_and_mappings_can_be_told(folder: Path) -> None:
    data = ("--data", folder / "data")
    process("import", "fleet.csv", *data, folder=folder)
    (folder / "hours.csv").write_text("Unit,Date,Hours\nA,03/04/2026,100\n")
    asked = process("import", "hours.csv", *data, "--dry-run", folder=folder)
    assert (asked.returncode, b"say in which order" in asked.stderr) == (REFUSED, True)
    mapping = process("import", "hours.csv", *data, "--show-mapping", "--days", "mdy", folder=folder)
    (folder / "mapping.json").write_bytes(mapping.stdout)
    told = process("import", "hours.csv", *data, "--mapping", "mapping.json", folder=folder)
    assert (told.returncode, b"1 row adds" in told.stdout) == (DONE, True), told.stderr
    (folder / "wrong.json").write_text("{}")
    for name, why in (("wrong.json", b"no mapping of columns"), ("none.json", b"cannot be read as a mapping")):
        wrong = process("import", "hours.csv", *data, "--mapping", name, folder=folder)
        assert (wrong.returncode, why in wrong.stderr) == (REFUSED, True)


def test_refusals(folder: Path) -> None:
    data = ("--data", folder / "data")
    for arguments, why in (
        (("import", "none.csv", *data), b"none.csv cannot be read: No such file"),
        (("import", "fleet.csv", *data, "--as", "XY"), b"nobody called 'XY' works here; known: AB"),
        (("import", "fleet.csv", "--data", folder / "empty"), b"no workshop is set up"),
        (("export", "all.pdf", *data), b"allowed: .xlsx, .zip, .json"),
        (("export", "fleet.csv/all.zip", *data), b"cannot be written"),
    ):
        told = process(*arguments, folder=folder)
        assert (told.returncode, why in told.stderr, b"Traceback" in told.stderr) == (REFUSED, True, False), told.stderr
    assert run("import")[0] == run("export")[0] == USAGE
    assert run("import", "--help")[0] == run("export", "--help")[0] == DONE


def test_a_served_folder_is_not_written_from_outside(folder: Path) -> None:
    from sparkout.server.claim import claimed

    with claimed(folder / "data") as tell:
        tell("http://127.0.0.1:1/")
        told = process("import", "fleet.csv", "--data", folder / "data", folder=folder)
        assert (told.returncode, b"served already at http://127.0.0.1:1/" in told.stderr) == (REFUSED, True)
        assert process("export", "all.zip", "--data", folder / "data", folder=folder).returncode == DONE
