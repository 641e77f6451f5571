"""Drawings of hand signs, from the singer's side or facing, with words for those who listen."""

from __future__ import annotations

from bot.activities.sign import SIGNS, sign_name
from bot.errors import Fault, InputProblems
from bot.music.exercise import Tone
from bot.service.content import Content
from bot.wording import Wording

_MIRROR = '<g transform="matrix(-1 0 0 1 100 0)">'


def sign_svg(content: Content, tone: Tone, *, facing: bool = False) -> str:
    """The drawing of a tone's sign in `currentColor`, 100 by 100 units.

    As the singer sees the own right hand, or `facing`: as the hand of someone across the room.
    InputProblems where the drawing is missing; ValueError for a tone without a sign.
    """
    name = sign_name(tone)
    drawing = content.signs.get(name)
    if drawing is None:
        raise InputProblems([Fault(place=f"signs/{name}.svg", problem="no such file")])
    if not facing:
        return drawing
    opening, rest = drawing.split(">", 1)
    body, _ = rest.rsplit("</svg>", 1)
    return f"{opening}>{_MIRROR}{body}</g></svg>\n"


def sign_words(say: Wording, tone: Tone, *, facing: bool = False) -> str:
    """The sign in words: the hand and its height."""
    words = say(f"sign.{sign_name(tone)}")
    return say("sign.facing", sign=words) if facing else words


def missing_signs(content: Content) -> tuple[str, ...]:
    """Names of drawings that are not there."""
    return tuple(name for name in SIGNS if name not in content.signs)
