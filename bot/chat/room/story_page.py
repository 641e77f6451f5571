"""A whole story as one HTML file: scenes behind links, pictures and sounds inside, no script.

One scene is seen at a time, the one that the address names; on paper all of them are.
"""

from __future__ import annotations

import base64
import hashlib
import re
import string
from collections.abc import Iterator
from html import unescape

from markupsafe import Markup, escape

from bot.chat.room.assets import Assets
from bot.chat.room.pages import Pages
from bot.notation.shared_signs import with_shared_signs
from bot.notation.webfont import Face, serif
from bot.service.story_book import Sheet, StoryBook
from bot.wording import Wording

_FACES: tuple[tuple[Face, str, str], ...] = (
    ("Regular", "400", "normal"),
    ("It", "400", "italic"),
    ("Semibold", "600", "normal"),
)
_UNSEEN = re.compile(r"<svg.*?</svg>|<style.*?</style>|<[^>]*>", re.DOTALL)
_ALWAYS = string.ascii_letters + string.digits + string.punctuation + " –’“”·"
_STYLES = ("tokens.css", "takehome.css", "story-home.css")


def story_page(book: StoryBook, pages: Pages, assets: Assets) -> bytes:
    """The file. Slow enough for a thread."""
    template = pages.environment.get_template("story_home.html")

    def draw(style: str) -> str:
        return template.render(
            book=book,
            picture=lambda sheet, phone: _picture(sheet, pages.say, phone=phone),
            sign=_sign,
            sound=_sound,
            style=Markup(style),  # noqa: S704 - our own style sheet
            policy=_policy(style),
        )

    letters = "".join(sorted({*_ALWAYS, *unescape(_UNSEEN.sub("", draw("")))}))
    return with_shared_signs(draw("\n".join(_style(letters, assets)))).encode()


def _picture(sheet: Sheet, say: Wording, *, phone: bool) -> Markup:
    svg = sheet.phone_picture if phone else sheet.picture
    name = escape(say("takehome.picture", key=sheet.key_spoken))
    kind = "phone" if phone else "wide"
    named = svg.replace("<svg ", f'<svg role="img" class="{kind}" aria-label="{name}" ', 1)
    return Markup(named)  # noqa: S704 - our own engraving


def _sign(svg: str, words: str) -> Markup:
    named = svg.replace("<svg ", f'<svg role="img" aria-label="{escape(words)}" ', 1)
    return Markup(named)  # noqa: S704 - a drawing of our own


def _sound(mp3: bytes) -> str:
    return "data:audio/mpeg;base64," + _in_letters(mp3)


def _in_letters(data: bytes) -> str:
    return base64.b64encode(data).decode()


def _policy(style: str) -> str:
    """What the page allows: this one style sheet, what it carries, and nothing from anywhere."""
    digest = _in_letters(hashlib.sha256(style.encode()).digest())
    return (
        f"default-src 'none'; style-src 'sha256-{digest}'; font-src data:; img-src data:; "
        "media-src data:; base-uri 'none'; form-action 'none'"
    )


def _style(letters: str, assets: Assets) -> Iterator[str]:
    for face, weight, slope in _FACES:
        yield (
            f'@font-face{{font-family:"Room Serif";font-weight:{weight};font-style:{slope};'
            f'src:url("data:font/woff;base64,{_in_letters(serif(letters, face))}") format("woff")}}'
        )
    for name in _STYLES:
        yield assets.files[name].data.decode()
