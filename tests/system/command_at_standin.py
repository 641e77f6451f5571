"""The command line, with discord.py pointed at the stand-in.

`python -m tests.system.command_at_standin URL GATEWAY serve --data FOLDER ...`
"""

from __future__ import annotations

import sys

from bot.cli import main
from tests.standin.library import library_at

if __name__ == "__main__":
    with library_at(sys.argv[1], sys.argv[2]):
        sys.exit(main(sys.argv[3:]))
