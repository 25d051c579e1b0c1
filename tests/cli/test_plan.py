"""`sparkout plan` and `sparkout demo`: what is printed where, what is written, what is refused."""

from __future__ import annotations

import io
import json
import os
import re
import shutil
from pathlib import Path
from xml.etree import ElementTree

import pypdf
import pytest
from tests.cli.commands import TODAY, run

from sparkout.cli.main import main
from sparkout.cli.world import DONE, REFUSED, USAGE, World
from sparkout.demonstration.listing import demonstration_files

FILES = demonstration_files()
QUICK = FILES["three-readings"]
LEAST = 'unit.name = "1"\nreel = {blades = 5, diameter = "5 in", length = "20 in"}\n'


def test_json_on_stdout_is_nothing_but_json(tmp_path: Path) -> None:
    status, out, err = run("plan", QUICK, "--json", "--card", "card.pdf", "--pictures", "drawn", folder=tmp_path)
    assert status == DONE
    data = json.loads(out)
    assert data["sparkout_answer"] == 1
    assert data["demonstration"] is True
    assert "job card:" in err
    assert "pictures:" in err


def test_the_answer_on_stdout_and_where_things_are_on_stderr(tmp_path: Path) -> None:
    status, out, err = run("plan", QUICK, "--card", "card.pdf", folder=tmp_path)
    assert status == DONE
    for title in ("In short", "What the gauges showed", "Against the workshop's own limits", "What this rests on"):
        assert title in out
    assert "DEMONSTRATION: unit, readings and people are invented." in out
    assert out.rstrip().endswith("licensed practice come first.")
    assert "card.pdf" not in out
    assert str(tmp_path / "card.pdf") in err
    assert all(len(line) <= 120 and line == line.rstrip() for line in out.splitlines())
    assert "\x1b" not in out


def test_card_and_pictures_into_folders_with_spaces_that_are_not_there_yet(tmp_path: Path) -> None:
    source = tmp_path / "a visit of mine.toml"
    shutil.copy(QUICK, source)
    status, _, _ = run(
        "plan", source, "--card", "out of the way/job card.pdf", "--pictures", "out of the way/drawn", folder=tmp_path
    )
    assert status == DONE
    pages = pypdf.PdfReader(tmp_path / "out of the way" / "job card.pdf").pages
    assert len(pages) in (2, 3)
    drawn = sorted(path.name for path in (tmp_path / "out of the way" / "drawn").iterdir())
    assert drawn == ["cone.svg", "explanations.svg", "land.svg", "passes.svg", "trade.svg", "unrolled.svg"]
    for name in drawn:
        ElementTree.parse(tmp_path / "out of the way" / "drawn" / name)
    assert source.read_bytes() == QUICK.read_bytes()


def test_nothing_to_draw_is_said(tmp_path: Path) -> None:
    (tmp_path / "least.toml").write_text(LEAST)
    status, out, err = run("plan", "least.toml", "--pictures", "drawn", folder=tmp_path)
    assert status == DONE
    assert "No reading of the cylinder yet" in out
    assert "nothing to draw yet" in err
    assert not (tmp_path / "drawn").exists()


def test_units_words_mark_and_paper_as_asked_else_as_the_file_says(tmp_path: Path) -> None:
    as_file = run("plan", FILES["bent-shaft"])[1]
    assert "Bent shaft" in as_file
    assert " thou" in as_file
    assert "cylinder" not in as_file
    other = run("plan", FILES["bent-shaft"], "--units", "mm", "--words", "uk", "--decimal", ",")[1]
    assert "cylinder" in other
    assert re.search(r"Shaft bent by 0,\d+ ± 0,\d+ mm\.", other)
    run("plan", QUICK, "--card", "a.pdf", "--paper", "Letter", folder=tmp_path)
    run("plan", QUICK, "--card", "b.pdf", folder=tmp_path)
    widths = [float(pypdf.PdfReader(tmp_path / name).pages[0].mediabox.width) for name in ("a.pdf", "b.pdf")]
    assert widths == pytest.approx([612.0, 595.28], abs=0.5)


@pytest.mark.parametrize("command", ["plan", "demo", "visit", "calc"])
def test_help_is_an_answer(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(command, "--help")
    assert status == DONE
    assert f"sparkout {command}" in out + capsys.readouterr().out


@pytest.mark.parametrize(
    "arguments",
    [
        ("plan",),
        ("plan", QUICK, "--units", "ell"),
        ("plan", QUICK, "--nonsense"),
        ("demo", "--nonsense"),
        ("visit",),
    ],
)
def test_a_command_not_understood_has_its_own_status(
    arguments: tuple[object, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, _ = run(*arguments)
    assert status == USAGE
    assert out == ""
    assert "usage:" in capsys.readouterr().err


def test_files_that_are_not_there(tmp_path: Path) -> None:
    status, out, err = run("plan", "absent.toml", folder=tmp_path)
    assert (status, out) == (REFUSED, "")
    assert "there is no file" in err
    assert "absent.toml" in err
    status, out, err = run("plan", ".", folder=tmp_path)
    assert (status, out) == (REFUSED, "")
    assert "folder" in err


@pytest.mark.parametrize("option", ["--card", "--pictures"])
def test_an_output_that_cannot_be_written_is_said(tmp_path: Path, option: str) -> None:
    """The answer is still printed; a file stands where a folder is wanted, which stops the superuser too."""
    (tmp_path / "taken").write_text("a file")
    status, out, err = run("plan", QUICK, option, "taken/x.pdf", folder=tmp_path)
    assert status == REFUSED
    assert "In short" in out
    assert "cannot be written" in err
    assert (tmp_path / "taken").read_text() == "a file"


def test_a_card_that_would_be_a_folder_is_refused(tmp_path: Path) -> None:
    status, _, err = run("plan", QUICK, "--card", ".", folder=tmp_path)
    assert status == REFUSED
    assert "cannot be written" in err


def test_a_folder_without_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    locked = tmp_path / "locked"
    locked.mkdir()
    locked.chmod(0o500)
    if os.access(locked, os.W_OK):  # the superuser may write everywhere: let the system call refuse
        monkeypatch.setattr(Path, "write_bytes", _no_permission)
    status, _, err = run("plan", QUICK, "--card", "locked/card.pdf", folder=tmp_path)
    assert status == REFUSED
    assert "Permission denied" in err


def _no_permission(*_: object) -> int:
    raise PermissionError(13, "Permission denied")


def test_the_card_is_never_written_over_the_visit_file(tmp_path: Path) -> None:
    source = tmp_path / "visit.toml"
    source.write_text(LEAST)
    for name in ("visit.toml", f"../{tmp_path.name}/visit.toml"):
        status, out, err = run("plan", "visit.toml", "--card", name, folder=tmp_path)
        assert (status, out) == (REFUSED, "")
        assert "written over the visit file" in err
        assert source.read_text() == LEAST


def test_questions_are_asked_back(tmp_path: Path) -> None:
    file = tmp_path / "v.toml"
    file.write_text(LEAST + "[[limits]]\nquantity = 'cone'\nat_most = '0.2 mm'\n")
    _, out, _ = run("plan", "v.toml", folder=tmp_path)
    assert "Asked back" in out
    assert "line 3, limits number 1: where does the limit on cone come from?" in out


@pytest.mark.parametrize("arguments", [("plan", QUICK), ("visit", "check", QUICK)])
def test_a_day_that_is_none_is_refused(arguments: tuple[object, ...]) -> None:
    status, _, err = run(*arguments, env={"SPARKOUT_TODAY": "yesterday"})
    assert status == REFUSED
    assert "SPARKOUT_TODAY is 'yesterday'; allowed: a day" in err


def test_without_a_fixed_day_it_is_today() -> None:
    from datetime import date

    world = World(io.StringIO(), io.StringIO(), {}, None)
    assert world.today() == date.today()
    assert world.folder == Path.cwd()


def test_demo_lists_and_runs(tmp_path: Path) -> None:
    status, out, _ = run("demo", "--list")
    assert status == DONE
    assert [line.split()[0] for line in out.splitlines()] == list(FILES)
    status, out, err = run("demo", "three-readings", "--out", "a demo", folder=tmp_path)
    assert status == DONE
    assert "DEMONSTRATION" in out
    assert (tmp_path / "a demo" / "three-readings.pdf").is_file()
    assert (tmp_path / "a demo" / "three-readings-pictures" / "cone.svg").is_file()
    assert "visit file:" in err


def test_demo_without_a_name_is_the_coned_unit(tmp_path: Path) -> None:
    status, out, _ = run("demo", folder=tmp_path)
    assert status == DONE
    assert out.startswith("G3 left")
    assert (tmp_path / "sparkout-demo" / "coned.pdf").is_file()


def test_a_demonstration_unit_that_is_not_there() -> None:
    status, out, err = run("demo", "cone")
    assert (status, out) == (REFUSED, "")
    assert "did you mean coned?" in err


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("env", [{"TERM": "xterm-256color"}, {"NO_COLOR": "1"}])
def test_a_terminal_gets_bold_and_no_colour_where_none_is_wanted(env: dict[str, str]) -> None:
    out = _Terminal()
    assert main(["plan", str(QUICK)], World(out, io.StringIO(), {**TODAY, **env}, None)) == DONE
    assert "In short" in out.getvalue()
    assert "\x1b[3" not in out.getvalue().replace("\x1b[3m", ""), "bold and underline only: no meaning by colour"
