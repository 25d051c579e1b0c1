"""`sparkout COMMAND ...`: find the command, run it, show a refusal as a refusal."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from sparkout.cli.world import DONE, REFUSED, USAGE, Ended, World
from sparkout.core.errors import Refusal, did_you_mean
from sparkout.core.phrase import AsTyped, Phrase, joined, phrase

if TYPE_CHECKING:
    from collections.abc import Mapping

COMMANDS = {
    "demo": "run the main job on the demonstration unit and write its job card",
    "calc": "one sum from the catalogue: list them, explain one, or answer one",
    "visit": "start or check a visit file",
    "plan": "the whole answer for a visit file: state, verdicts, grind, setting, proof",
    "why": "why does the turf look like that: what is seen in, likely causes and the next check out",
    "season": "wear of a whole fleet from a file of readings, and the plan of a season",
    "listen": "what a recording of a turning reel tells: its speed, and what it shows of a bearing",
    "serve": "the web bench and the workshop's records, in a browser",
    "import": "bring a file of tables into the records, or tell what it would do",
    "export": "everything in the records as one file",
    "token": "make, list or end the tokens by which programs ask",
    "version": "which Sparkout this is",
}
_MODULES = {"import": "importing", "export": "exporting", "token": "tokens"}
"""Where a command's own name cannot be a module's."""


def usage() -> str:
    """Return the list of commands."""
    lines: list[str] = [phrase("usage: sparkout [--language CODE] COMMAND ..."), ""]
    lines += [phrase("The reckoning for reel and bedknife. It advises; a person decides and signs."), ""]
    lines += [
        phrase("  {name} {what}", name=AsTyped(f"{name:<8}"), what=Phrase(what)) for name, what in COMMANDS.items()
    ]
    return joined("\n", [*lines, "", phrase("sparkout COMMAND --help says more.")])


def main(arguments: list[str], world: World) -> int:
    """Run one command and return its exit status."""
    world.language = _language(arguments, world.env)
    if arguments[:1] == ["--language"]:
        if arguments[1:2] != [world.language]:
            return _no_language(" ".join(arguments[1:2]), world)
        arguments = arguments[2:]
    if not arguments or arguments[0] in ("-h", "--help", "help"):
        world.say(usage())
        return DONE
    name, rest = arguments[0], arguments[1:]
    if name in ("version", "--version"):
        from sparkout import __version__

        world.say(f"sparkout {__version__}")
        return DONE
    if name not in COMMANDS:
        nearest = did_you_mean(name, COMMANDS)
        world.complain(phrase("there is no command '{name}'; {nearest}", name=AsTyped(name), nearest=nearest))
        return USAGE
    return _run(name, rest, world)


def _run(name: str, arguments: list[str], world: World) -> int:
    try:
        status: int = import_module(f"sparkout.cli.{_MODULES.get(name, name)}").run(arguments, world)
        world.out.flush()
    except Refusal as refusal:
        world.complain(refusal.words)
        return REFUSED
    except Ended as ended:
        return ended.status
    except BrokenPipeError:
        world.hang_up()
        return DONE
    return status


def _language(arguments: list[str], env: Mapping[str, str]) -> str:
    """Return in which language to tell: as asked, else the system's where there is a catalogue for it."""
    at = arguments.index("--language") if "--language" in arguments else len(arguments)
    system = next(filter(None, (env.get(name) for name in ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"))), "")
    wanted = (arguments[at + 1 : at + 2] or [system.partition(":")[0].partition(".")[0].partition("_")[0]])[0]
    if wanted in ("", "C", "POSIX", "en"):  # what catalogues need is slow to import
        return "en"
    from sparkout.translation import LANGUAGES

    return wanted if wanted in LANGUAGES else "en"


def _no_language(wanted: str, world: World) -> int:
    from sparkout.translation import LANGUAGES

    allowed = AsTyped(", ".join(LANGUAGES))
    world.complain(phrase("--language is '{wanted}'; allowed: {allowed}", wanted=AsTyped(wanted), allowed=allowed))
    return USAGE
