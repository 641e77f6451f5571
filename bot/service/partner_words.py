"""What is told of partner lines that sound together: which they are, and why they go well."""

from __future__ import annotations

from collections.abc import Sequence as Row
from itertools import combinations

from bot.music.partner_pool import Stack
from bot.music.partners import meeting
from bot.music.sequence import Sequence
from bot.music.syllable import word_of
from bot.service.step_words import step_words
from bot.wording import Wording


def stack_name(stack: Stack, say: Wording) -> str:
    """The lines by their numbers, from 1: `Lines 1 and 3 together`."""
    first, last = _numbers(stack.chosen)
    return say("partners.together", first=first, last=last)


def chosen_name(chosen: Row[int], say: Wording) -> str:
    """What a reading of some lines is called: `Partner lines 1 and 3`, `Partner line 2`."""
    first, last = _numbers(chosen)
    return (
        say("partners.title", first=first, last=last)
        if first
        else say("partners.title_one", number=last)
    )


def _numbers(chosen: Row[int]) -> tuple[str, str]:
    """All numbers but the last, and the last."""
    *first, last = [str(line + 1) for line in sorted(chosen)]
    return ", ".join(first), last


def lower_words(sequence: Sequence | None, step: str, own: str, say: Wording) -> str:
    """That lines are at a lower pitch step than was asked for; empty where they are not."""
    if sequence is None or step == own:
        return ""
    lower, above = (step_words(sequence, each, say) for each in (step, own))
    return say("partners.lower", step=lower, own=above)


def why_together(stack: Stack, say: Wording) -> str:
    """What sounds on strong beats, how the lines move, where they meet, where they end.

    Of three lines, what every two of them do is counted together.
    """
    parts = range(len(stack.exercise.parts))
    met = [meeting(stack.exercise, high, low) for high, low in combinations(parts, 2)]
    unisons = sum(each.unisons for each in met)
    ends = [
        word_of(stack.exercise.parts[stack.lines.index(line)].tones()[-1]) for line in stack.chosen
    ]
    told = [
        say(
            "partners.sweet",
            sweet=sum(each.sweet for each in met),
            strong=sum(each.strong for each in met),
        ),
        say(
            "partners.moves",
            moves=sum(each.moves for each in met),
            against=sum(each.against for each in met),
            alone=sum(each.alone for each in met),
        ),
        say("partners.unisons", count=unisons) if unisons else say("partners.no_unison"),
        say("partners.ends", tones=", ".join(ends)),
    ]
    return " ".join(told)
