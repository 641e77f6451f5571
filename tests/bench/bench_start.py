"""Start-up: how long a command takes to answer, against Python alone."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from tests.bench import median_s

_REPOSITORY = Path(__file__).parents[2]


def run() -> dict[str, float]:
    """Medians of ten starts each."""
    return {
        "python, nothing": median_s(lambda: _start("-c", "pass")),
        "riserbell --help": median_s(lambda: _start("-m", "bot", "--help")),
        "all that the server imports": median_s(lambda: _start("-c", "import bot.app")),
        "all that the media process imports": median_s(
            lambda: _start("-c", "import bot.media.child")
        ),
    }


def _start(*arguments: str) -> None:
    subprocess.run(
        [sys.executable, *arguments], cwd=_REPOSITORY, check=True, stdout=subprocess.DEVNULL
    )
