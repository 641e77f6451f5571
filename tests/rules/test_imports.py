"""Reading order is import order; each library has its folder."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.rules import imports
from tests.rules.source import REPOSITORY, plant

_RULES: list[Callable[[Path], list[str]]] = [
    imports.upward_imports,
    imports.deferred_imports,
    imports.checker_imports,
    imports.library_imports,
    imports.undeclared_libraries,
]

_PLAIN = {
    "pyproject.toml": '[project]\ndependencies = ["numpy>=1", "tzdata"]\n',
    "bot/__init__.py": '__version__ = "1"\n',
    "bot/errors.py": "",
    "bot/music/__init__.py": "",
    "bot/music/pitch.py": "import math\nfrom fractions import Fraction\n",
    "bot/music/moves.py": "from bot.music.pitch import Key\n",
    "bot/music/composer.py": "import numpy as np\nfrom bot.music import moves, pitch\n",
    "bot/music/checker.py": "from bot.errors import Fault\nfrom bot.music import pitch\n",
    "bot/store/database.py": "import sqlite3\nfrom bot.errors import Fault\n",
    "bot/chat/surface.py": "from bot.music import pitch\n",
    "bot/chat/room/server.py": "from bot.chat.surface import Surface\n",
    "bot/chat/discord/client.py": "from bot.chat.surface import Surface\n",
    "bot/cli/music.py": "def run():\n    from bot.store import database\n",
}


@pytest.mark.parametrize("rule", _RULES)
def test_the_program_keeps_the_rule(rule):
    assert rule(REPOSITORY) == []


@pytest.mark.parametrize("rule", _RULES)
def test_a_tree_that_keeps_the_rule_has_no_breach(rule, tmp_path):
    assert rule(plant(tmp_path, _PLAIN)) == []


@pytest.mark.parametrize(
    ("rule", "file", "text", "breach"),
    [
        (
            imports.upward_imports,
            "bot/music/pitch.py",
            "from bot.store import database\n",
            "bot/music/pitch.py:1: music imports store, which stands after it",
        ),
        (
            imports.upward_imports,
            "bot/music/pitch.py",
            "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import bot.store.database\n",
            "bot/music/pitch.py:3: music imports store, which stands after it",
        ),
        (
            imports.upward_imports,
            "bot/store/database.py",
            "from ..chat.surface import Surface\n",
            "bot/store/database.py:1: store imports chat.surface, which stands after it",
        ),
        (
            imports.upward_imports,
            "bot/chat/room/server.py",
            "from bot.chat.discord import client\n",
            "bot/chat/room/server.py:1: chat.room imports chat.discord; "
            "adapters do not know each other",
        ),
        (
            imports.upward_imports,
            "bot/stuff/odds.py",
            "from bot.errors import Fault\n",
            "bot/stuff/odds.py:1: stuff.odds or errors has no place in the reading order",
        ),
        (
            imports.deferred_imports,
            "bot/store/database.py",
            "def late():\n    from bot.errors import Fault\n",
            "bot/store/database.py:2: bot.errors is imported inside a function",
        ),
        (
            imports.deferred_imports,
            "bot/store/database.py",
            "import importlib\nimportlib.import_module('bot.chat')\n",
            "bot/store/database.py:2: an import by name in a string",
        ),
        (
            imports.checker_imports,
            "bot/music/pitch.py",
            "from bot.music.moves import Move\n",
            "bot.music.checker reaches bot.music.moves",
        ),
        (
            imports.library_imports,
            "bot/store/database.py",
            "import numpy\n",
            "bot/store/database.py:1: numpy belongs to music, notation, media",
        ),
        (
            imports.library_imports,
            "bot/music/pitch.py",
            "import sqlite3\n",
            "bot/music/pitch.py:1: sqlite3 belongs to store",
        ),
        (
            imports.library_imports,
            "bot/music/pitch.py",
            "from pathlib import Path\n",
            "bot/music/pitch.py:1: music is pure and does without pathlib",
        ),
        (
            imports.library_imports,
            "bot/store/database.py",
            "import sqlalchemy.orm\n",
            "bot/store/database.py:1: sqlalchemy is in no folder's list of libraries",
        ),
        (
            imports.undeclared_libraries,
            "bot/chat/room/server.py",
            "import aiohttp\n",
            "aiohttp is imported and not declared",
        ),
        (
            imports.undeclared_libraries,
            "pyproject.toml",
            '[project]\ndependencies = ["numpy", "verovio>=4.3"]\n',
            "verovio is declared and not used",
        ),
    ],
)
def test_a_breach_is_found_and_named(rule, file, text, breach, tmp_path):
    assert rule(plant(tmp_path, {**_PLAIN, file: text})) == [breach]
