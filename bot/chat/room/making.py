"""How far something is that is made in the background, in words for the page that waits for it."""

from __future__ import annotations

from dataclasses import dataclass

from bot.chat.room.parts import Parts
from bot.errors import InputProblems
from bot.service.makings import Made, Making
from bot.service.troubles import sentence
from bot.wording import Wording


@dataclass(frozen=True, slots=True, kw_only=True)
class OnItsWay:
    """What is made: the wish, how far it is in words, lines done of all (0 of 0: not begun)."""

    wish: str
    far: str
    done: int
    whole: int


async def on_its_way(
    room: Parts, choir_id: str, made: Made
) -> tuple[OnItsWay | None, tuple[str, ...]]:
    """What a choir waits for, None where for nothing; and why the last wish failed."""
    making = await room.services.makings.of(choir_id, made)
    if making is None:
        return None, ()
    say = room.pages.say
    if making.wish is None:
        return None, _faults(making, say)
    far = _far(making, say)
    return OnItsWay(wish=making.wish, far=far, done=making.done, whole=making.whole), ()


def _far(making: Making, say: Wording) -> str:
    if making.whole == 0:
        return say("making.waits")
    if making.done == making.whole:
        return say("making.ends")
    return say("making.lines", done=making.done, whole=making.whole)


def _faults(making: Making, say: Wording) -> tuple[str, ...]:
    match making.fault:
        case None:
            return ()
        case InputProblems(faults=faults):
            return (say("making.failed"), *map(str, faults))
        case error:
            return (say("making.failed"), sentence(error, say))
