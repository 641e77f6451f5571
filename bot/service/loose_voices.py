"""A reading for whichever voice can have it: the first that can, and why the others cannot."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from bot.errors import Fault, InputProblems, NoExercise
from bot.music.voice import Voice
from bot.service.loose_reading import Wish
from bot.wording import Wording

Made = TypeVar("Made")


@dataclass(frozen=True, slots=True, kw_only=True)
class ForVoice(Generic[Made]):
    """What was made, for which voice, and a sentence for each voice that cannot have it."""

    made: Made
    voice: Voice
    remarks: tuple[str, ...]


def for_some_voice(wish: Wish, make: Callable[[Wish], Made], say: Wording) -> ForVoice[Made]:
    """Make a wish for every voice; the highest that can have it has it.

    Every voice is tried, so that what is said of the others was found out. InputProblems names the
    reason of each voice where none can, once where it is the same for all, and whatever is wrong
    with the wish itself.
    """
    made: dict[Voice, Made] = {}
    reasons: dict[Voice, str] = {}
    for voice in Voice:
        try:
            made[voice] = make(replace(wish, voice=voice))
        except NoExercise as refusal:
            reasons[voice] = say(refusal.key, **refusal.values)
    if not made:
        alike = len(set(reasons.values())) == 1
        faults = [
            Fault(place="" if alike else voice.value, problem=reason)
            for voice, reason in reasons.items()
        ]
        raise InputProblems(faults[:1] if alike else faults)
    voice = next(iter(made))
    cannot = [say("refusal.cannot", voice=other, why=why) for other, why in reasons.items()]
    remarks = (say("refusal.for_voice", voice=voice), *cannot)
    return ForVoice(made=made[voice], voice=voice, remarks=remarks)
