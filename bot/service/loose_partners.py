"""Partner lines that belong to no choir: a set as folders of files, and what goes well together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from bot.music.in_reach import in_reach
from bot.music.level import Level
from bot.music.page_options import PageOptions
from bot.music.partner_pool import highest_first
from bot.music.partner_set import PartnerSet, partner_set
from bot.music.voice import DEFAULT_RANGES, Voice
from bot.service.content import Content
from bot.service.loose_reading import Wish, part_clefs, wished, write_reading
from bot.service.part_clefs import DEFAULT_CLEFS
from bot.service.partner_words import lower_words, stack_name, why_together
from bot.service.step_words import without_newest
from bot.wording import Wording


def compose_partners(
    wish: Wish, voices: Sequence[Voice], lines: int, content: Content
) -> tuple[PartnerSet, tuple[str, ...]]:
    """A set of 2 to 4 lines for all these voices, the highest first, and remarks on its steps.

    It is at the highest pitch step in reach of all; InputProblems or NoExercise say why not.
    """
    order, level, key, metre = wished(wish, content)
    ranges = tuple(DEFAULT_RANGES[voice] for voice in voices)

    def made(at: Level) -> PartnerSet:
        return partner_set(
            at, ranges, lines, key=key, metre=metre, measures=wish.measures, seed=wish.seed
        )

    found, at = in_reach(order, level, made)
    lower = lower_words(order, at.steps[0], level.steps[0], content.wording)
    without = without_newest(found.lines[0], level, content.wording)
    return found, tuple(remark for remark in (lower, *without) if remark)


def write_partners(
    found: PartnerSet,
    voices: Sequence[Voice],
    content: Content,
    folder: Path,
    options: PageOptions,
    formats: Sequence[str],
) -> list[Path]:
    """Write each line and all that sound together, a folder each; the paths of the files.

    Folders are `line-1`, `lines-1-2` and so on; in each of them is what `write_reading` writes.
    """
    written: list[Path] = []
    for number, line in enumerate(found.lines):
        to = folder / f"line-{number + 1}"
        clefs = part_clefs(line, voices[0])
        written += write_reading(line, clefs, content, to, options, formats)
    for stack in (*found.pairs, *found.triples):
        order = highest_first(stack.exercise)
        exercise = replace(
            stack.exercise, parts=tuple(stack.exercise.parts[part] for part in order)
        )
        labels = [content.wording("partners.line", number=stack.lines[part] + 1) for part in order]
        to = folder / f"lines-{'-'.join(str(line + 1) for line in stack.chosen)}"
        clefs = tuple(DEFAULT_CLEFS[voices[stack.singers[part][0]]] for part in order)
        written += write_reading(exercise, clefs, content, to, options, formats, labels)
    return written


def told_of(found: PartnerSet, say: Wording) -> Iterator[str]:
    """The ground, then what goes together, pairs and threes, each the best first, with why."""
    yield say("partners.ground", chords=found.ground.text())
    if found.less_new:
        yield say("partners.less_new")
    for stack in (*found.pairs, *found.triples):
        yield f"{stack_name(stack, say)}: {why_together(stack, say)}"
