"""Sheets to take home as one HTML file that carries styles, serif, pictures and sounds inside.

It is opened by a double click, from a phone's downloads or on a school's class page, so it carries
its own content security policy and no script at all.
"""

from __future__ import annotations

import base64
import hashlib
import re
import string
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import unescape

from markupsafe import Markup, escape

from bot.chat.room.assets import Assets
from bot.chat.room.pages import Pages
from bot.notation.webfont import Face, serif
from bot.service.printed import counting, how_it_goes
from bot.service.sub import SubFolder
from bot.service.takehome import HomeFolder, HomeSheet, Sung
from bot.service.tune_home import HomeTune
from bot.wording import Wording

_FACES: tuple[tuple[Face, str, str], ...] = (
    ("Regular", "400", "normal"),
    ("It", "400", "italic"),
    ("Semibold", "600", "normal"),
)
_UNSEEN = re.compile(r"<svg.*?</svg>|<style.*?</style>|<[^>]*>", re.DOTALL)
_ALWAYS = string.ascii_letters + string.digits + string.punctuation + " –’“”·"


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeView:
    """One sheet of the file: its heading, the anchor that leads to it, and its pulse."""

    sheet: HomeSheet
    name: str
    anchor: str
    beats: tuple[int, ...]
    pulse: str


def home_page(
    folder: HomeFolder, pages: Pages, assets: Assets, tune: HomeTune | None = None
) -> bytes:
    """The sheets of a week or of one day, with its mystery tune. Slow enough for a thread."""
    say = pages.say
    views = [
        _view(sheet, say.date(sheet.card.on), f"day-{sheet.card.on}") for sheet in folder.sheets
    ]
    values = {
        "title": folder.title(say),
        "heading": folder.choir.name,
        "lead": say("takehome.one_lead")
        if folder.day is not None
        else say("takehome.week_of", day=say.date(folder.monday, "MMMM d, y")),
        "without": _without(folder, say),
        "plan": None,
        "tune": tune,
    }
    return _render(views, values, pages, assets)


def sub_page(folder: SubFolder, pages: Pages, assets: Assets) -> bytes:
    """The substitute's folder: the plan first, then the sheets. Slow enough for a thread."""
    say = pages.say
    views = [
        _view(sheet, say("sub.sheet", number=number), f"sheet-{number}")
        for number, sheet in enumerate(folder.sheets, start=1)
    ]
    title = say("sub.title", choir=folder.choir.name)
    values = {
        "title": title,
        "heading": title,
        "lead": say("sub.lead"),
        "without": "",
        "plan": how_it_goes(say, folder),
        "tune": None,
    }
    return _render(views, values, pages, assets)


def _without(folder: HomeFolder, say: Wording) -> str:
    days = ", ".join(say.date(day) for day in folder.without)
    return say("takehome.without", days=days) if days else ""


def _view(sheet: HomeSheet, name: str, anchor: str) -> HomeView:
    card = sheet.card
    return HomeView(
        sheet=sheet,
        name=name,
        anchor=anchor,
        beats=tuple(range(1, card.pulses + 1)),
        pulse=f"p{card.pulses}-{card.tempo_bpm}",
    )


def _render(
    views: Sequence[HomeView], values: Mapping[str, object], pages: Pages, assets: Assets
) -> bytes:
    template = pages.environment.get_template("takehome.html")

    def draw(style: str) -> str:
        return template.render(
            values,
            views=views,
            counting=counting,
            picture=lambda sung, phone: _picture(sung, phone=phone),
            turned=lambda svg, way: _named(svg, pages.say(f"way.name.{way}"), "turned"),
            sound=_sound,
            style=Markup(style),  # noqa: S704 - our own style sheet
            policy=_policy(style),
        )

    letters = "".join(sorted({*_ALWAYS, *unescape(_UNSEEN.sub("", draw("")))}))
    return draw(_style(letters, views, assets)).encode()


def _picture(sung: Sung, *, phone: bool) -> Markup:
    """An engraving as part of the page, with a name for those who listen."""
    svg = sung.phone_picture if phone else sung.picture
    return _named(svg, sung.picture_name, "phone" if phone else "wide")


def _named(svg: str, name: str, kind: str) -> Markup:
    label = escape(name)
    named = svg.replace("<svg ", f'<svg role="img" class="{kind}" aria-label="{label}" ', 1)
    return Markup(named)  # noqa: S704 - our own engraving


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


def _style(letters: str, views: Sequence[HomeView], assets: Assets) -> str:
    faces = [
        f'@font-face{{font-family:"Room Serif";font-weight:{weight};font-style:{slope};'
        f'src:url("data:font/woff;base64,{_in_letters(serif(letters, face))}") format("woff")}}'
        for face, weight, slope in _FACES
    ]
    sheets = [assets.files[name].data.decode() for name in ("tokens.css", "takehome.css")]
    return "\n".join((*faces, *sheets, *_pulses(views)))


def _pulses(views: Sequence[HomeView]) -> Iterator[str]:
    """A beat after another is underlined, at the sheet's own tempo, for as long as one looks."""
    for pulse in sorted({view.pulse for view in views}):
        beats, bpm = (int(number) for number in pulse[1:].split("-"))
        cycle_s = beats * 60 / bpm
        lit = 100 / beats
        yield (
            f"@keyframes {pulse}{{0%,{0.6 * lit:.2f}%{{border-color:var(--folder)}}"
            f"{0.6 * lit + 0.01:.2f}%,100%{{border-color:transparent}}}}"
            f".{pulse} li{{animation:{pulse} {cycle_s:.4f}s step-end infinite}}"
        )
        for beat in range(1, beats):
            yield f".{pulse} li:nth-child({beat + 1}){{animation-delay:{beat * 60 / bpm:.4f}s}}"
