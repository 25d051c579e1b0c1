"""`sparkout listen`: a recording made here in, speed and bearing out; the same for a program and as a picture."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.commands import run
from tests.drawing.looking import problems
from tests.recording.test_recording import BEARING, coded, sound, wav

from sparkout.core.bearing.geometry import defect_multiples

INSIDE = ("--balls", 9, "--ball-diameter", "7.94 mm", "--pitch-diameter", "39.04 mm")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("sound")
    (made / "left.wav").write_bytes(wav(sound()))
    (made / "phone.m4a").write_bytes(coded(sound(), "mp4", "aac"))
    return made


def test_speed_and_fault_in_words(folder: Path) -> None:
    status, said, _ = run("listen", "left.wav", "--blades", 11, *INSIDE, folder=folder)
    assert status == 0
    assert "1500 1/min, from the lines that 11 blades make" in said
    assert "Damage shown: outer race" in said
    assert "inner race: not shown" in said or "inner race: nothing can be said" in said
    assert "⚠" in said


def test_a_telephones_own_file_for_a_program_and_as_a_picture(folder: Path) -> None:
    asked = ("--others", "motor 48 Hz; belt 620 1/min", "--json", "--picture", "out.svg")
    status, said, complained = run("listen", "phone.m4a", "--blades", 11, *INSIDE, *asked, folder=folder)
    assert status == 0
    data = json.loads(said)
    assert data["speed"] == pytest.approx(1500, rel=0.002)
    assert data["bearing"]["fault"] == "outer race"
    assert data["others"]["belt"] == pytest.approx(620 / 60)
    outer = next(line for line in data["bearing"]["lines"] if line["fault"] == "outer race")
    assert outer["found"] == pytest.approx(25 * defect_multiples(BEARING).outer, rel=0.01)
    assert "out.svg" in complained
    assert problems((folder / "out.svg").read_text(encoding="utf-8")) == []


def test_without_a_bearing_the_speed_alone(folder: Path) -> None:
    status, said, complained = run("listen", "left.wav", "--blades", 11, "--picture", "no.svg", folder=folder)
    assert status == 0
    assert "its inside (balls, their diameter, pitch diameter) was not given" in said
    assert "nothing to draw" in complained
    assert not (folder / "no.svg").exists()


def test_a_speed_given_that_the_blades_deny_is_said(folder: Path) -> None:
    _, said, _ = run("listen", "left.wav", "--blades", 11, "--reel-speed", 1300, folder=folder)
    assert "1300 1/min, as given" in said
    assert "is not so" in said
    _, said, _ = run("listen", "left.wav", "--blades", 11, "--reel-speed", "25 1/s", folder=folder)
    assert "The blades' lines agree" in said


@pytest.mark.parametrize(
    ("more", "why"),
    [
        (("--blades", 1), "allowed: 2 to 40"),
        (("--blades", 11, "--balls", 9), "takes all three"),
        (("--blades", 11, "--balls", 9, "--ball-diameter", "50 mm", "--pitch-diameter", "39 mm"), "does not go on"),
        (("--blades", 11, "--balls", 40, "--ball-diameter", "8 mm", "--pitch-diameter", "39 mm"), "do not fit on"),
        (("--blades", 11, "--others", "motor"), "has no name, or does not say how often"),
        (("--blades", 11, "--others", "motor 48 mm"), "Hz"),
        (("--blades", 11, "--others", "motor 48000000 Hz"), "0.1 to 20000"),
        (("--blades", 11, "--others", ";".join(f"m{n} {n + 20} Hz" for n in range(9))), "at most 8"),
        (("--blades", 11, "--reel-speed", "5 mm"), "5 mm"),
    ],
)
def test_refusals_name_what_is_wrong(folder: Path, more: tuple[object, ...], why: str) -> None:
    status, _, complained = run("listen", "left.wav", *more, folder=folder)
    assert status == 1
    assert why in complained


def test_a_file_that_is_not_there_or_no_recording(folder: Path) -> None:
    assert run("listen", "none.wav", "--blades", 11, folder=folder)[0] == 1
    (folder / "letter.wav").write_text("no sound", encoding="utf-8")
    status, _, complained = run("listen", "letter.wav", "--blades", 11, folder=folder)
    assert (status, "no recording" in complained) == (1, True)
