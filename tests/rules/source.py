"""The program's text as the rules read it: files, syntax trees, dotted names.

Every rule is a function over a folder that looks like this repository and returns the breaches it
finds, one line each. The tests hold it against the repository, and against a small tree in which
somebody has broken it, so that a rule that sees nothing is noticed.
"""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

REPOSITORY = Path(__file__).parents[2]


@dataclass(frozen=True)
class Module:
    """One Python file; `name` is dotted (`bot.music.pitch`), `place` is for messages."""

    path: Path
    place: str

    @cached_property
    def name(self) -> str:
        return self.place.removesuffix(".py").removesuffix("/__init__").replace("/", ".")

    @cached_property
    def text(self) -> str:
        return self.path.read_text(encoding="utf-8")

    @cached_property
    def tree(self) -> ast.Module:
        return ast.parse(self.text, self.place)

    @property
    def package(self) -> str:
        """The package that relative imports start from."""
        return self.name if self.path.name == "__init__.py" else self.name.rpartition(".")[0]


def modules(root: Path, *folders: str) -> Iterator[Module]:
    """All Python files under the folders of a root, in a fixed order."""
    for folder in folders:
        for path in sorted((root / folder).rglob("*.py")):
            yield Module(path=path, place=path.relative_to(root).as_posix())


def functions(module: Module) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """All functions and methods of a module, nested ones too."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def calls(module: Module) -> Iterator[ast.Call]:
    """All calls in a module."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call):
            yield node


def dotted(node: ast.expr) -> str:
    """`a.b.c` of a chain of names, `?.c` where it starts with something else."""
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        return f"{dotted(node.value)}.{node.attr}"
    return "?"


def tracked_files(root: Path) -> list[Path]:
    """The files that are the project's own: what git tracks, or all of a folder without git."""
    if (root / ".git").exists():
        listed = subprocess.run(
            ["git", "-C", str(root), "ls-files", "-z"], capture_output=True, check=True, text=True
        ).stdout
        found = [root / name for name in listed.split("\0") if name]
    else:
        # Without git, hidden folders are somebody's environment or cache.
        found = [
            path
            for path in sorted(root.rglob("*"))
            if not any(part.startswith(".") for part in path.relative_to(root).parts[:-1])
        ]
    return [path for path in found if path.is_file()]


def plant(root: Path, files: Mapping[str, str]) -> Path:
    """Write a small tree for a rule to be tried on."""
    for name, text in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return root
