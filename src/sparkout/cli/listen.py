"""`sparkout listen FILE`: what a recording of a turning reel tells of its speed and of a bearing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sparkout.cli.asking import Parser, asked_of
from sparkout.cli.plan import add_manner, showing_asked
from sparkout.cli.world import DONE, World
from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase

if TYPE_CHECKING:
    from sparkout.recording.kept import Hearing
    from sparkout.showing import Showing


def parser() -> Parser:
    """Return what the command takes."""
    made = Parser(
        "sparkout listen",
        description="What a recording of a turning reel tells: its speed, and what it shows of a bearing.",
    )
    made.add_argument("file", type=Path, help="recording (WAV, M4A, WebM, Ogg)")
    made.add_argument("--blades", required=True, metavar="N", help="blades on the reel")
    made.add_argument("--reel-speed", metavar="SPEED", help="from a tachometer, 1/min; else the blades' lines tell it")
    made.add_argument("--balls", metavar="N", help="balls or rollers in one row of the bearing")
    made.add_argument("--ball-diameter", metavar="LENGTH", help="of a ball or roller, mm unless it says")
    made.add_argument("--pitch-diameter", metavar="LENGTH", help="of the circle through the balls' middles")
    made.add_argument("--contact-angle", metavar="ANGLE", help="of a taper or angular bearing, degrees")
    made.add_argument("--others", metavar="LIST", help='what else turns: "motor 48 Hz; belt 620 1/min"')
    made.add_argument("--picture", type=Path, metavar="OUT.svg", help="write the picture")
    made.add_argument("--json", action="store_true", help="print the answer for a program")
    add_manner(made)
    return made


def run(arguments: list[str], world: World) -> int:
    """Listen to one recording."""
    asked = asked_of(parser, arguments, world)
    from sparkout.recording.asked import ASKED, beside, listened_to

    said = beside({name: getattr(asked, name) for name in ASKED})
    heard = listened_to(_content(world.folder / asked.file), said)
    showing = showing_asked(asked)
    if asked.json:
        import json

        world.say(json.dumps(heard.as_data(), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        _told(heard, world, showing)
    if asked.picture is not None:
        from sparkout.papers.sound import sound_picture

        made = sound_picture(heard, showing)
        if made:
            world.complain(phrase("picture: {path}", path=AsTyped(world.write(asked.picture, made.encode("utf-8")))))
        else:
            world.complain(showing.say(phrase("picture: nothing to draw without the bearing's inside")))
    return DONE


def _content(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as trouble:
        why = trouble.strerror or ""
        raise Refusal(phrase("{path} cannot be read: {why}", path=AsTyped(str(path)), why=why)) from None


def _told(heard: Hearing, world: World, showing: Showing) -> None:
    from sparkout.telling.sound import told_sound

    for section in told_sound(heard, showing):
        world.say(section.title)
        for line in section.lines:
            world.say(f"  {line}")
        for caution in section.cautions:
            world.say(f"  ⚠ {caution}")
        world.say()
