"""`python -m sparkout`: the command line."""

import sys

from sparkout.cli.main import main
from sparkout.cli.world import World

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:], World.real()))
