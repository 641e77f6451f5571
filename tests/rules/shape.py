"""How large a file and a function may grow, and what every piece of the program must have."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.rules.source import Module, dotted, functions, modules

FILE_LINES, FUNCTION_LINES, NESTING = 300, 60, 4
# Files are split by use; a drawer for odds and ends is not a use.
_DRAWERS = {"utils", "util", "helpers", "helper", "common", "globals", "misc", "base", "manager"}
_VALUE_FOLDERS = ("bot/music/", "bot/activities/", "bot/privacy/")
_TOP = {
    "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml",
    "bot", "content", "tests", "deploy",
}  # fmt: skip
_BLOCKS = (
    ast.If, ast.For, ast.AsyncFor, ast.While, ast.With, ast.AsyncWith, ast.Try, ast.TryStar,
    ast.Match,
)  # fmt: skip


def long_files(root: Path) -> list[str]:
    """Python and JavaScript files that should be split by use."""
    paths = [module.path for module in modules(root, "bot", "tests")]
    paths += sorted((root / "bot").rglob("*.js"))
    counted = [(path, len(path.read_text(encoding="utf-8").splitlines())) for path in paths]
    return [
        f"{path.relative_to(root).as_posix()}: {lines} lines, {FILE_LINES} at most"
        for path, lines in counted
        if lines > FILE_LINES
    ]


def long_functions(root: Path) -> list[str]:
    """Functions that do not fit on a screen; decorators and the docstring do not count."""
    return [
        f"{module.place}:{function.lineno}: {function.name} has {lines} lines"
        for module in modules(root, "bot", "tests")
        for function in functions(module)
        if (lines := _lines(function)) > FUNCTION_LINES
    ]


def _lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    first = function.body[0]
    told = ast.get_docstring(function) is not None
    words = (first.end_lineno or 0) - first.lineno + 1 if told else 0
    return (function.end_lineno or 0) - function.lineno + 1 - words


def deep_functions(root: Path) -> list[str]:
    """Functions whose blocks are nested deeper than can be followed."""
    return [
        f"{module.place}:{function.lineno}: {function.name} is nested {depth} deep"
        for module in modules(root, "bot", "tests")
        for function in functions(module)
        if (depth := max(_depth(statement) for statement in function.body)) > NESTING
    ]


def _depth(node: ast.AST, *, elif_of: bool = False) -> int:
    """Blocks in blocks; an `elif` is as deep as its `if`, a function within starts anew."""
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda | ast.ClassDef):
        return 0
    inner = max(
        (_depth(child, elif_of=_is_elif(node, child)) for child in _inside(node)), default=0
    )
    return inner + (isinstance(node, _BLOCKS) and not elif_of)


def _inside(node: ast.AST) -> Iterator[ast.AST]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.stmt | ast.ExceptHandler | ast.match_case):
            yield child


def _is_elif(node: ast.AST, child: ast.AST) -> bool:
    return isinstance(node, ast.If) and isinstance(child, ast.If) and node.orelse == [child]


def untold(root: Path) -> list[str]:
    """Modules, public classes and public functions without a docstring."""
    breaches = []
    for module in modules(root, "bot"):
        if module.text.strip() and ast.get_docstring(module.tree) is None:
            breaches.append(f"{module.place}: no docstring")
        breaches += [
            f"{module.place}:{node.lineno}: {node.name} has no docstring"
            for node in _public(module.tree)
            if ast.get_docstring(node) is None
        ]
    return breaches


def _public(
    owner: ast.Module | ast.ClassDef,
) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef]:
    for node in owner.body:
        named = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
        if named and not node.name.startswith("_"):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from _public(node)


def drawers(root: Path) -> list[str]:
    """Files and folders named for no use."""
    return [
        f"{module.place}: {part} says nothing about its use"
        for module in modules(root, "bot", "tests")
        for part in module.name.split(".")
        if part in _DRAWERS
    ]


def loose_values(root: Path) -> list[str]:
    """Dataclasses of the pure folders that are not frozen, slotted and keyword-only."""
    breaches = []
    for module in modules(root, "bot"):
        if not module.place.startswith(_VALUE_FOLDERS):
            continue
        for node in ast.walk(module.tree):
            if isinstance(node, ast.ClassDef):
                breaches += _loose(module, node)
    return breaches


def _loose(module: Module, node: ast.ClassDef) -> list[str]:
    for decorator in node.decorator_list:
        call = decorator if isinstance(decorator, ast.Call) else None
        name = dotted(call.func if call else decorator)
        if name.split(".")[-1] != "dataclass":
            continue
        given = {
            word.arg
            for word in (call.keywords if call else [])
            if isinstance(word.value, ast.Constant) and word.value.value is True
        }
        missing = [word for word in ("frozen", "slots", "kw_only") if word not in given]
        if missing:
            return [f"{module.place}:{node.lineno}: {node.name} lacks {', '.join(missing)}"]
    return []


def strange_top_level(root: Path, tracked: list[Path]) -> list[str]:
    """What lies at the top of the repository and has no business there; dotfiles may."""
    top = {path.relative_to(root).parts[0] for path in tracked}
    return [f"{name} at the top level" for name in sorted(top - _TOP) if not name.startswith(".")]
