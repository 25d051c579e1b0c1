"""The world outside: streams that break, streams of another encoding, files."""

from __future__ import annotations

import contextlib
import io
import sys
from pathlib import Path

import pytest
from tests.cli.commands import run

from sparkout.cli.main import main
from sparkout.cli.world import DONE, World
from sparkout.core.errors import Refusal


class _Gone(io.StringIO):
    def write(self, _: str, /) -> int:
        raise BrokenPipeError(32, "Broken pipe")


def test_a_reader_that_has_gone_ends_the_command_quietly() -> None:
    err = io.StringIO()
    assert main(["calc"], World(_Gone(), err, {}, Path())) == DONE
    assert err.getvalue() == ""


def test_what_is_left_to_say_to_a_reader_that_has_gone_goes_nowhere(tmp_path: Path) -> None:
    with (tmp_path / "out.txt").open("w") as out:
        world = World(out, io.StringIO(), {}, tmp_path)
        world.hang_up()
        world.say("too late")
        out.flush()
    assert (tmp_path / "out.txt").read_text() == ""


def test_the_process_s_own_streams_can_say_any_letter(monkeypatch: pytest.MonkeyPatch) -> None:
    kept = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(kept, encoding="ascii"))
    monkeypatch.setattr(sys, "stderr", io.StringIO())  # a stream that cannot be told its encoding is left as it is
    world = World.real()
    world.say("0.01 ± 0.02 mm")
    world.out.flush()
    assert kept.getvalue().decode("utf-8").rstrip() == "0.01 ± 0.02 mm"


def test_files_are_written_below_the_folder_and_refusals_say_why(tmp_path: Path) -> None:
    world = World(io.StringIO(), io.StringIO(), {}, tmp_path)
    assert world.write(Path("a/b.txt"), b"x") == tmp_path / "a" / "b.txt"
    assert (tmp_path / "a" / "b.txt").read_bytes() == b"x"
    with pytest.raises(Refusal, match="cannot be written: "):
        world.write(Path("a"), b"x")


def test_help_and_what_is_not_understood_are_told_in_the_language_asked_for() -> None:
    assert run("--language", "de")[1].startswith("Aufruf: sparkout")
    assert "Datei eines Werkstattgangs (TOML oder JSON)" in _shown("plan", "--language", "de", "--help")
    assert "diese Angaben fehlen: file" in _shown("--language", "de", "plan")
    assert "'x' ist kein Port" in _shown("serve", "--port", "x", "--language", "de").replace("„", "'").replace("“", "'")


def test_a_language_not_asked_for_is_the_system_s() -> None:
    assert run(env={"LANG": "de_DE.UTF-8"})[1].startswith("Aufruf: ")
    assert run(env={"LANG": "de_DE.UTF-8", "LC_ALL": "C"})[1].startswith("usage: ")
    assert run(env={"LANG": "zz_ZZ"})[1].startswith("usage: ")
    assert run("nix", env={"LANGUAGE": "de:en"})[2].startswith("den Befehl „nix“ gibt es nicht; bekannt: ")


def test_a_language_there_is_no_catalogue_for_is_refused() -> None:
    assert run("--language", "zz", "demo") == (2, "", "--language is 'zz'; allowed: en, de\n")
    assert run("--language")[0] == 2


def test_what_the_parser_itself_says_is_its_own_again_afterwards() -> None:
    _shown("--language", "de", "plan")
    assert "the following arguments are required" in _shown("plan")


def _shown(*arguments: str) -> str:
    """What is printed; the parser prints where the process does."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        run(*arguments)
    return out.getvalue()
