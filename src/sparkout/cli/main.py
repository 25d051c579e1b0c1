"""`sparkout COMMAND ...`: find the command, run it, show a refusal as a refusal."""

from __future__ import annotations

from importlib import import_module

from sparkout.cli.world import DONE, REFUSED, USAGE, World
from sparkout.core.errors import Refusal, did_you_mean

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
    lines = [
        "usage: sparkout COMMAND ...",
        "",
        "The reckoning for reel and bedknife. It advises; a person decides and signs.",
        "",
    ]
    lines += [f"  {name:<8} {what}" for name, what in COMMANDS.items()]
    return "\n".join([*lines, "", "sparkout COMMAND --help says more."])


def main(arguments: list[str], world: World) -> int:
    """Run one command and return its exit status."""
    if not arguments or arguments[0] in ("-h", "--help", "help"):
        world.say(usage())
        return DONE
    name, rest = arguments[0], arguments[1:]
    if name in ("version", "--version"):
        from sparkout import __version__

        world.say(f"sparkout {__version__}")
        return DONE
    if name not in COMMANDS:
        world.complain(f"there is no command {name!r}; {did_you_mean(name, COMMANDS)}")
        return USAGE
    try:
        status: int = import_module(f"sparkout.cli.{_MODULES.get(name, name)}").run(rest, world)
        world.out.flush()
    except Refusal as refusal:
        world.complain(str(refusal))
        return REFUSED
    except BrokenPipeError:
        world.hang_up()
        return DONE
    return status
