"""Pages from templates: everything is escaped, every sentence comes from the wording file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from aiohttp import web
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from bot.chat.room.assets import Assets
from bot.errors import Refused
from bot.wording import Wording

_TEMPLATES = Path(__file__).resolve().parent / "templates"
# The serif has no flat and no sharp, and a machine's font must not step in: they are drawn.
# Both are drawn by us on a field 10 wide and 24 high.
_SIGNS = {
    "♭": ("flat", "M2 1v21M2 13c3-4 7-2.5 6 1-.8 3-3.500 5-6 8"),
    "♯": ("sharp", "M3 4v18M7 2v18M.5 10.500l9-3M.5 16.500l9-3"),
}
_ACCIDENTAL = re.compile("([A-G]?)([♭♯])")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pages:
    """Renders templates. `mark` tells the demonstration apart from the real thing."""

    environment: Environment
    say: Wording

    def page(
        self, template: str, values: Mapping[str, object], *, status: int = 200
    ) -> web.Response:
        """A whole page as a response."""
        return page_response(self.text(template, values), status=status)

    def text(self, template: str, values: Mapping[str, object]) -> str:
        """A whole page."""
        return self.environment.get_template(template).render(values)


def page_response(text: str, *, status: int = 200) -> web.Response:
    """A page that was drawn already as a response."""
    return web.Response(text=text, status=status, content_type="text/html", charset="utf-8")


def load_pages(say: Wording, assets: Assets, *, demo: bool) -> Pages:
    """Build the template environment; templates are compiled when first used."""
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )

    def music(text: object) -> Markup:
        return draw_signs(str(text), say)

    def day(written: str) -> str:
        return say.date(date.fromisoformat(written), "MMMM d, y")

    environment.filters["music"] = music
    environment.filters["day"] = day
    environment.globals.update(say=say, asset=assets.url, demo=demo)
    return Pages(environment=environment, say=say)


def draw_signs(text: str, say: Wording) -> Markup:
    """Escape a text and draw its flats and sharps, each with its name for those who listen."""
    drawn, at = Markup(""), 0
    names = {"flat": say("room.flat"), "sharp": say("room.sharp")}
    for match in _ACCIDENTAL.finditer(text):
        letter, (name, path) = match[1], _SIGNS[match[2]]
        drawn += escape(text[at : match.start()])
        sign = Markup(
            '{}<svg class="sign" viewBox="0 0 10 24" aria-hidden="true"><path d="{}"/></svg>'
            '<span class="heard">{}</span>'
        ).format(letter, path, names[name])
        # A letter and its sign never part at the end of a line.
        drawn += Markup('<span class="tone">{}</span>').format(sign) if letter else sign
        at = match.end()
    return drawn + escape(text[at:])


def refusal(say: Wording, refused: Refused) -> str:
    """A refusal as a sentence; its key where the wording has none, so that nothing is hidden."""
    return say(refused.key, **refused.values) if say.has(refused.key) else str(refused)
