"""Printing, clocks, surroundings, dice, hosts, words."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.rules import conduct
from tests.rules.source import REPOSITORY, plant, tracked_files

_RULES: list[Callable[[Path], list[str]]] = [
    conduct.prints,
    conduct.clocks,
    conduct.surroundings,
    conduct.dice,
]

_PLAIN = {
    "bot/cli/music.py": "print(datetime.now(), os.environ)\n",
    "bot/app.py": "time.monotonic()\n",
    "bot/music/composer.py": (
        "from random import Random\nr = random.Random(5)\nr.random()\nnp.random.default_rng(5)\n"
    ),
    "bot/music/drawing.py": "def draw(random):\n    return random.random()\n",
    "bot/service/desk.py": "import secrets\nsecrets.token_hex()\nclock.now()\nself.clock.now()\n",
}


@pytest.mark.parametrize("rule", _RULES)
def test_the_program_keeps_the_rule(rule):
    assert rule(REPOSITORY) == []


@pytest.mark.parametrize("rule", _RULES)
def test_a_tree_that_keeps_the_rule_has_no_breach(rule, tmp_path):
    assert rule(plant(tmp_path, _PLAIN)) == []


@pytest.mark.parametrize(
    ("rule", "text", "breach"),
    [
        (conduct.prints, "print(1)", "print"),
        (conduct.prints, "sys.stderr.write('')", "sys.stderr"),
        (conduct.clocks, "datetime.now(UTC)", "datetime.now"),
        (conduct.clocks, "datetime.date.today()", "datetime.date.today"),
        (conduct.clocks, "run(clock=time.monotonic)", "time.monotonic"),
        (conduct.surroundings, "os.environ['HOME']", "os.environ"),
        (conduct.surroundings, "x = pathlib.Path.home()", "pathlib.Path.home"),
        (conduct.dice, "random.shuffle(x); import random", "random.shuffle"),
        (conduct.dice, "from random import choice", "from random import choice"),
        (conduct.dice, "secrets.token_hex()", "secrets.token_hex"),
        (conduct.dice, "np.random.normal()", "np.random.normal"),
        (conduct.dice, "np.random.default_rng()", "np.random.default_rng without a seed"),
        (conduct.dice, "Random()", "Random without a seed"),
    ],
)
def test_a_breach_is_found_and_named(rule, text, breach, tmp_path):
    assert rule(plant(tmp_path, {"bot/music/draw.py": text})) == [f"bot/music/draw.py:1: {breach}"]


@pytest.mark.parametrize("rule", [conduct.registry_hosts, conduct.unwanted_words])
def test_no_file_of_the_project_has_such_a_line(rule):
    assert rule(tracked_files(REPOSITORY)) == []


@pytest.mark.parametrize(
    ("rule", "found"),
    [
        (conduct.registry_hosts, "py" + "pi.org"),
        (conduct.registry_hosts, "registry.npm" + "js"),
        (conduct.unwanted_words, "the Seed docu" + "ment"),
        (conduct.unwanted_words, "see issu" + "e #12"),
        (conduct.unwanted_words, "an A" + "I wrote it"),
    ],
)
def test_such_a_line_is_found(rule, found, tmp_path):
    plant(
        tmp_path, {"README.md": f"first\n{found}\n", "bot/cli/music.py": "user_agent = 'issues'\n"}
    )
    breaches = rule(tracked_files(tmp_path))
    assert len(breaches) == 1
    assert breaches[0].startswith("README.md:2: ")
