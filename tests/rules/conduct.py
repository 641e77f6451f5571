"""What no part of the program does: print, read the clock, roll its own dice, name hosts."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from tests.rules.source import Module, calls, dotted, modules

# The door through which each of these comes in; everywhere else it is passed as a value.
_PRINTS = ("bot/cli/",)
_OUTER = ("bot/app.py", "bot/cli/", "bot/settings.py")
_PURE = ("bot/music/", "bot/activities/", "bot/notation/", "bot/media/")

_CLOCKS = {
    "datetime.now", "datetime.utcnow", "datetime.today", "date.today", "time.time", "time.time_ns",
    "time.monotonic", "time.monotonic_ns", "time.perf_counter", "time.perf_counter_ns",
    "time.localtime", "time.gmtime", "time.strftime", "time.sleep",
}  # fmt: skip
_SURROUNDINGS = {"os.environ", "os.environb", "os.getenv", "os.getcwd", "Path.cwd", "Path.home"}
_DICE = {"secrets", "uuid"}


def prints(root: Path) -> list[str]:
    """Calls that write to the terminal outside the command line."""
    return [
        f"{place}: {name}"
        for place, name in _names(root, outside=_PRINTS)
        if name in ("print", "sys.stdout", "sys.stderr")
    ]


def clocks(root: Path) -> list[str]:
    """Places that read the clock, or wait on it, instead of being given the time."""
    return [
        f"{place}: {name}"
        for place, name in _names(root, outside=_OUTER)
        if any(name == clock or name.endswith("." + clock) for clock in _CLOCKS)
    ]


def surroundings(root: Path) -> list[str]:
    """Places that read the environment or the current folder instead of settings."""
    return [
        f"{place}: {name}"
        for place, name in _names(root, outside=_OUTER)
        if any(name == part or name.endswith("." + part) for part in _SURROUNDINGS)
    ]


def dice(root: Path) -> list[str]:
    """Chance that cannot be repeated: shared or unseeded, and in pure folders any other."""
    breaches = []
    for module in modules(root, "bot"):
        pure = module.place.startswith(_PURE)
        shared = _imports_random(module)
        breaches += [
            f"{module.place}:{node.lineno}: {name}"
            for node, name in _expressions(module)
            if _shared_dice(name, shared)
            or (pure and name.partition(".")[0] in _DICE and "." in name)
        ]
        breaches += [
            f"{module.place}:{call.lineno}: {dotted(call.func)} without a seed"
            for call in calls(module)
            if dotted(call.func).split(".")[-1] in ("Random", "default_rng")
            and not (call.args or call.keywords)
        ]
        breaches += _dice_by_name(module)
    return breaches


def _imports_random(module: Module) -> bool:
    """Whether `random` is the library's module here, and not a generator passed as an argument."""
    return any(
        alias.name == "random"
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Import)
        for alias in node.names
    )


def _shared_dice(name: str, shared: bool) -> bool:
    """A function of `random` or of numpy's `random`, which all share one hidden state."""
    owner, _, rolled = name.rpartition(".")
    theirs = (owner == "random" and shared) or owner.endswith(".random")
    return theirs and rolled.islower() and rolled != "default_rng"


def _dice_by_name(module: Module) -> list[str]:
    return [
        f"{module.place}:{node.lineno}: from random import {alias.name}"
        for node in ast.walk(module.tree)
        if isinstance(node, ast.ImportFrom) and node.module == "random"
        for alias in node.names
        if alias.name != "Random"
    ]


def _names(root: Path, outside: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for module in modules(root, "bot"):
        if not module.place.startswith(outside):
            for node, name in _expressions(module):
                yield f"{module.place}:{node.lineno}", name


def _expressions(module: Module) -> Iterator[tuple[ast.expr, str]]:
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Name | ast.Attribute) and isinstance(node.ctx, ast.Load):
            yield node, dotted(node)


# Put together here, so that the lists do not find themselves.
_HOSTS = [
    "py" + "pi.org", "python" + "hosted", "npm" + "js", "deb.deb" + "ian", "crates" + ".io",
    "proxy.gol" + "ang", "jsdeli" + "vr", "unp" + "kg", "cdn" + "js", "googlea" + "pis",
]  # fmt: skip
_WORDS = [
    r"seed doc" + r"uments?", r"practition" + r"ers?'s? talk", r"language mod" + r"els?",
    r"\bA" + r"I\b", r"\bLL" + r"Ms?\b", r"issue" + r"s? #?\d", r"issue tra" + r"cker",
    r"(?<!user.)\bagen" + r"ts?\b", r"\bchat" + r"bots?\b",
    r"flash" + r"cards?", r"leader" + r"boards?", r"\b(?:x" + r"p|lev" + r"el up)\b",
]  # fmt: skip
# A licence is quoted as it stands; a schema or a description of another's service is theirs.
_OTHERS_TEXT = {"LICENSE"}
_TEXT = {
    "", ".py", ".md", ".toml", ".txt", ".html", ".js", ".css", ".svg", ".sql", ".cfg", ".ini",
    ".yaml", ".yml", ".sh", ".service", ".example", ".json", ".musicxml", ".in",
}  # fmt: skip


def registry_hosts(tracked: list[Path]) -> list[str]:
    """Lines that name a package registry's or a content network's host."""
    return _lines_with(tracked, re.compile("|".join(map(re.escape, _HOSTS)), re.IGNORECASE))


def unwanted_words(tracked: list[Path]) -> list[str]:
    """Lines with words about how the project came about, or from the world of games."""
    return _lines_with(tracked, re.compile("|".join(_WORDS), re.IGNORECASE))


def _lines_with(tracked: list[Path], pattern: re.Pattern[str]) -> list[str]:
    return [
        f"{path.name}:{number}: {found[0]}"
        for path in tracked
        if path.suffix in _TEXT and path.name not in _OTHERS_TEXT
        for number, line in enumerate(path.read_text("utf-8", "replace").splitlines(), start=1)
        if (found := pattern.search(line))
    ]
