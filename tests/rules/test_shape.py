"""Sizes, docstrings, names of files, values."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.rules import shape
from tests.rules.source import REPOSITORY, plant, tracked_files

_RULES: list[Callable[[Path], list[str]]] = [
    shape.long_files,
    shape.long_functions,
    shape.deep_functions,
    shape.untold,
    shape.drawers,
    shape.loose_values,
]

_NARROW = '"""Told."""\n\n\ndef run(x):\n    """Told."""\n' + "    x = x + 1\n" * 59
_FLAT = '''"""Told."""


def run(x):
    """Told."""
    if x:
        with x:
            for y in x:
                try:
                    pass
                except ValueError:
                    pass
    elif y:
        pass
    elif z:
        pass
'''
_VALUE = '''"""Told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """Told."""

    def _private(self):
        pass
'''
_PLAIN = {
    "bot/__init__.py": "",
    "bot/narrow.py": _NARROW,
    "bot/flat.py": _FLAT,
    "bot/music/value.py": _VALUE,
    "bot/chat/room/board.js": "let a = 1;\n" * 300,
    "tests/test_narrow.py": "def test():\n    pass\n",
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
            shape.long_files,
            "bot/chat/room/board.js",
            "let a = 1;\n" * 301,
            "bot/chat/room/board.js: 301 lines, 300 at most",
        ),
        (
            shape.long_functions,
            "bot/narrow.py",
            _NARROW + "    return x\n",
            "bot/narrow.py:4: run has 61 lines",
        ),
        (
            shape.deep_functions,
            "bot/flat.py",
            _FLAT.replace("                    pass\n", "                    while x: pass\n", 1),
            "bot/flat.py:4: run is nested 5 deep",
        ),
        (
            shape.untold,
            "bot/music/value.py",
            _VALUE.replace("_private", "public"),
            "bot/music/value.py:8: public has no docstring",
        ),
        (shape.untold, "bot/narrow.py", "x = 1\n", "bot/narrow.py: no docstring"),
        (
            shape.drawers,
            "bot/music/utils.py",
            "",
            "bot/music/utils.py: utils says nothing about its use",
        ),
        (
            shape.loose_values,
            "bot/music/value.py",
            _VALUE.replace(", slots=True", "").replace("kw_only=True", "kw_only=False"),
            "bot/music/value.py:5: Value lacks slots, kw_only",
        ),
        (
            shape.loose_values,
            "bot/music/value.py",
            _VALUE.replace("(frozen=True, slots=True, kw_only=True)", ""),
            "bot/music/value.py:5: Value lacks frozen, slots, kw_only",
        ),
    ],
)
def test_a_breach_is_found_and_named(rule, file, text, breach, tmp_path):
    assert rule(plant(tmp_path, {**_PLAIN, file: text})) == [breach]


def test_the_top_level_holds_what_the_layout_says_and_nothing_else():
    assert shape.strange_top_level(REPOSITORY, tracked_files(REPOSITORY)) == []


def test_a_stray_file_at_the_top_level_is_found(tmp_path):
    plant(tmp_path, {"notes.txt": "", ".gitignore": "", "bot/cli.py": "", "README.md": ""})
    assert shape.strange_top_level(tmp_path, tracked_files(tmp_path)) == [
        "notes.txt at the top level"
    ]
