"""`python -m bot` is `riserbell`."""

import sys

from bot.cli import main

sys.exit(main())
