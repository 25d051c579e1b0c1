"""`sparkout serve`: open the bench in a browser."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from sparkout.cli.asking import Parser, asked_of, told
from sparkout.cli.world import DONE
from sparkout.core.phrase import AsTyped, phrase
from sparkout.server.data_folder import usual_data_folder
from sparkout.server.run import LOOPBACK, PORT

if TYPE_CHECKING:
    from sparkout.cli.world import World


def parser() -> Parser:
    """Return what the command takes."""
    made = Parser("sparkout serve", description="Serve the web bench and the workshop's records.")
    made.add_argument("--port", type=_port, default=PORT, help="port (else %(default)s; 0: any free one)")
    made.add_argument("--data", type=Path, metavar="DIR", help="data folder (else SPARKOUT_DATA, else this user's own)")
    made.add_argument(
        "--host",
        default=LOOPBACK,
        metavar="ADDRESS",
        help="address to listen at (else this machine alone; 0.0.0.0: the whole network, without passwords)",
    )
    made.add_argument("--demo", action="store_true", help="fill an empty data folder with the demonstration (invented)")
    return made


def _port(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 0 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(told(phrase("'{text}' is no port; allowed: 0 to 65535", text=AsTyped(text))))
    return int(text)


def run(arguments: list[str], world: World) -> int:
    """Serve until stopped."""
    from sparkout.server.run import serve

    asked = asked_of(parser, arguments, world)
    where: Path | str | None = asked.data or world.env.get("SPARKOUT_DATA")
    data = world.folder / where if where else usual_data_folder()

    def say(text: str) -> None:
        world.say(text)
        world.out.flush()

    serve(data, asked.port, asked.host, demonstration=asked.demo, say=say)
    return DONE
