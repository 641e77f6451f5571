"""Sentences by key: every key used exists, every key that exists is used, gaps are filled.

A key stands literally where it is used. One that ends with a value of an enum is written
`f"form.clef.{clef}"` (in a template `"form.clef." ~ clef.value`), and its beginning is entered in
FAMILIES with the enum: then a member without a sentence is found, and a sentence without a member.
"""

from __future__ import annotations

import ast
import re
import string
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

from jinja2 import Environment, nodes

from bot.wording import Text, parse_wording
from tests.rules.source import Module, calls, dotted, modules

Families = Mapping[str, tuple[str, ...]]

_SAYERS = {"say", "_say", "wording", "_wording"}
_REFUSERS = {"Refused", "NoExercise"}
_ANY_GAPS = "**"
_SPOKEN_ATTRIBUTES = {"alt", "title", "aria-label", "placeholder", "aria-description"}
_SILENT_ELEMENTS = {"script", "style"}


@dataclass(frozen=True)
class Use:
    """A key, or its beginning where the end is computed, with the gaps that are filled."""

    place: str
    key: str
    gaps: frozenset[str]
    family: bool = False
    refusal: bool = False


def sentences(root: Path) -> Mapping[str, Text]:
    """All sentences of a tree, by key."""
    texts: dict[str, Text] = {}
    for file in sorted((root / "content" / "wording" / "en").glob("*.toml")):
        more = parse_wording(file.read_text(encoding="utf-8"), "en", file.name).texts
        assert not texts.keys() & more.keys(), f"{file.name}: {texts.keys() & more.keys()} twice"
        texts |= more
    return texts


def uses(root: Path) -> Iterator[Use]:
    """Every place where a key is looked up, in code and in templates."""
    for module in modules(root, "bot"):
        yield from _uses_in_code(module)
    for path in sorted((root / "bot").rglob("*.html")):
        yield from _uses_in_template(path, path.relative_to(root).as_posix())


def _uses_in_code(module: Module) -> Iterator[Use]:
    for call in calls(module):
        name = dotted(call.func).split(".")[-1]
        if name not in _SAYERS | _REFUSERS or not call.args:
            continue
        gaps = frozenset(word.arg or _ANY_GAPS for word in call.keywords)
        for key, family in _keys(call.args[0]):
            place = f"{module.place}:{call.lineno}"
            yield Use(place, key, gaps, family, refusal=name in _REFUSERS)


def _keys(node: ast.expr) -> Iterator[tuple[str, bool]]:
    """Keys that an expression may be; both sides of a choice."""
    if isinstance(node, ast.IfExp):
        yield from _keys(node.body)
        yield from _keys(node.orelse)
    elif isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value, False
    elif isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
        yield str(node.values[0].value), True


def _uses_in_template(path: Path, place: str) -> Iterator[Use]:
    for call in (
        Environment(autoescape=True).parse(path.read_text(encoding="utf-8")).find_all(nodes.Call)
    ):
        if not (isinstance(call.node, nodes.Name) and call.node.name == "say" and call.args):
            continue
        gaps = frozenset(word.key for word in call.kwargs) | (
            {_ANY_GAPS} if call.dyn_kwargs else set()
        )
        for key, family in _template_keys(call.args[0]):
            yield Use(f"{place}:{call.lineno}", key, gaps, family)


def _template_keys(node: nodes.Expr) -> Iterator[tuple[str, bool]]:
    if isinstance(node, nodes.CondExpr):
        yield from _template_keys(node.expr1)
        if node.expr2 is not None:
            yield from _template_keys(node.expr2)
    elif isinstance(node, nodes.Const) and isinstance(node.value, str):
        yield node.value, False
    elif isinstance(node, nodes.Concat | nodes.Add):
        first = node.nodes[0] if isinstance(node, nodes.Concat) else node.left
        for key, _ in _template_keys(first):
            yield key, True


def unknown_keys(root: Path, families: Families) -> list[str]:
    """Keys and families that are used and do not exist."""
    known = sentences(root)
    breaches = []
    for use in uses(root):
        if use.family and use.key not in families:
            breaches.append(f"{use.place}: {use.key!r} is no family in tests/rules")
        elif not use.family and use.key not in known:
            breaches.append(f"{use.place}: there is no sentence {use.key!r}")
    members = [beginning + end for beginning, ends in families.items() for end in ends]
    breaches += [f"families: there is no sentence {key!r}" for key in members if key not in known]
    return breaches


def unused_keys(root: Path, families: Families) -> list[str]:
    """Sentences that nothing says, and families that nothing asks for.

    A key in any string of the code counts as used: tables of keys are welcome.
    """
    used = {use.key for use in uses(root)}
    for module in modules(root, "bot"):
        used |= {
            node.value
            for node in ast.walk(module.tree)
            if isinstance(node, ast.Constant) and isinstance(node.value, str)
        }
    asked = {beginning for beginning in families if beginning in used}
    used |= {beginning + end for beginning in asked for end in families[beginning]}
    return [
        *(f"wording/en: nothing says {key!r}" for key in sentences(root) if key not in used),
        *(f"families: nothing asks for {name!r}" for name in families if name not in asked),
    ]


def wrong_gaps(root: Path, families: Families) -> list[str]:
    """Calls that fill other gaps than the sentence has; a refusal may bring more along."""
    known = sentences(root)
    breaches = []
    for use in uses(root):
        ends = families.get(use.key, ()) if use.family else ("",)
        for key in (use.key + end for end in ends):
            if key not in known or _ANY_GAPS in use.gaps:
                continue
            wanted = gaps_of(known[key])
            missing = sorted(wanted - use.gaps)
            spare = [] if use.refusal or use.family else sorted(use.gaps - wanted)
            breaches += [f"{use.place}: {key!r} needs {gap}" for gap in missing]
            breaches += [f"{use.place}: {key!r} has no gap {gap}" for gap in spare]
    return breaches


def gaps_of(text: Text) -> frozenset[str]:
    """The gaps to be filled; a sentence with plural forms has `count` among them."""
    forms = [text] if isinstance(text, str) else list(text.values())
    found = {gap for form in forms for _, gap, _, _ in string.Formatter().parse(form) if gap}
    return frozenset(found if isinstance(text, str) else found | {"count"})


def bare_words(root: Path) -> list[str]:
    """Words that stand in a template itself instead of in the wording file."""
    breaches = []
    for path in sorted((root / "bot").rglob("*.html")):
        reader = _Words()
        source = path.read_text(encoding="utf-8")
        reader.feed(re.sub(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", _blank, source, flags=re.DOTALL))
        breaches += [f"{path.name}:{line}: {words!r}" for line, words in reader.found]
    return breaches


def _blank(match: re.Match[str]) -> str:
    return "\n" * match[0].count("\n")


class _Words(HTMLParser):
    """Collects text and spoken attributes that hold letters."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[int, str]] = []
        self._silent = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _SILENT_ELEMENTS:
            self._silent = tag
        for name, value in attrs:
            if name in _SPOKEN_ATTRIBUTES and re.search(r"[^\W\d_]", value or ""):
                self.found.append((self.getpos()[0], f"{name}={value}"))

    def handle_endtag(self, tag: str) -> None:
        if tag == self._silent:
            self._silent = ""

    def handle_data(self, data: str) -> None:
        # A macro may write attributes alone, which stand outside of any tag here.
        words = re.sub(r"[\w-]+=\"[^\"]*\"", "", data)
        if not self._silent and re.search(r"[^\W\d_]", words):
            line = self.getpos()[0] + data[: len(data) - len(data.lstrip())].count("\n")
            self.found.append((line, words.strip()))
