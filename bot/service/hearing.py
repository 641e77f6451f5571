"""The hearing sheet: a line for each singer to be heard alone, and the director's boxes to tick.

Paper only: nothing of it is kept by the program, neither the lines nor what is ticked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from bot.errors import Fault, InputProblems
from bot.media.request import Engraved, EngravingRequest
from bot.music.exercise import Exercise
from bot.music.hearing import MOST, EqualLines, equal_lines
from bot.music.level import level_of
from bot.music.page_options import PageOptions
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.solfa import Solfa
from bot.music.variants import together
from bot.music.voice import DEFAULT_RANGES, Clef, Voice, VoiceRange
from bot.notation.paper import Block, Grid, PaperPage, Picture, paper
from bot.notation.words import key_words, pitch_words
from bot.service.content import Content
from bot.service.export import Page, picture_request
from bot.service.part_clefs import DEFAULT_CLEFS
from bot.service.printed import cautions
from bot.service.step_words import without_newest
from bot.wording import Wording

_LINES_A_PAGE = 5
_GRIDS_A_PAGE = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class HearingWish:
    """What to hear: steps, a voice with its range and clef (None: the usual), how many singers."""

    steps: tuple[str, ...]
    voice: Voice
    count: int
    limits: VoiceRange | None = None
    clef: Clef | None = None
    key: str | None = None
    metre: str | None = None
    seed: int = 0
    sequence: str = "steps-first"
    solfa: Solfa = field(default_factory=Solfa)


def hearing_lines(wish: HearingWish, content: Content) -> EqualLines:
    """The lines of a sheet; InputProblems names every faulty wish, NoExercise says why not."""
    faults: list[Fault] = []
    key = metre = level = None
    if not 1 <= wish.count <= MOST:
        problem = f"{wish.count} singers"
        faults.append(Fault(place="--count", problem=problem, remedy=f"from 1 to {MOST}"))
    try:
        key = None if wish.key is None else Key.parse(wish.key)
    except ValueError as error:
        faults.append(Fault(place="--key", problem=str(error)))
    try:
        metre = None if wish.metre is None else Metre.parse(wish.metre)
    except ValueError as error:
        faults.append(Fault(place="--metre", problem=str(error)))
    order = content.sequences[wish.sequence]
    try:
        level = level_of(order, wish.steps)
    except InputProblems as problems:
        faults += problems.faults
    if faults or level is None:
        raise InputProblems(faults)
    limits = (wish.limits or DEFAULT_RANGES[wish.voice],)
    placement = together(level, limits, key)
    return equal_lines(
        order, level, placement, limits, count=wish.count, metre=metre, seed=wish.seed
    )


def hearing_remarks(found: EqualLines, wish: HearingWish, content: Content) -> tuple[str, ...]:
    """What came out otherwise than at the steps of the wish, in sentences."""
    level = level_of(content.sequences[wish.sequence], wish.steps)
    return without_newest(found.lines[0], level, content.wording)


def line_requests(found: EqualLines, wish: HearingWish) -> Iterator[EngravingRequest]:
    """What the engraver has to make: a picture of each line."""
    clef = wish.clef or DEFAULT_CLEFS[wish.voice]
    for line in found.lines:
        page = Page(
            exercise=line,
            clefs=(clef,),
            solfa=wish.solfa,
            options=PageOptions(measure_numbers=False),
        )
        yield replace(picture_request(page), kind=Engraved.SVG, sheet=True)


def printed_hearing(found: EqualLines, drawn: list[str], say: Wording) -> bytes:
    """The sheet as PDF: how it goes, numbered lines to cut out, then boxes to tick for each.

    `drawn` are the pictures of `line_requests`. Slow enough for a thread.
    """
    pages = [_first(found, say), *_lines(found, drawn, say), *_boxes(found, drawn, say)]
    return paper(pages, title=say("hearing.title"))


def _first(found: EqualLines, say: Wording) -> PaperPage:
    """How it goes, what is ticked, how equal the lines are, and what to mind."""
    line = found.lines[0]
    start = say("hearing.key", key=key_words(line.key, say), do=pitch_words(line.key.do, say))
    return PaperPage(
        heading=say("hearing.title"),
        facts=start,
        blocks=(
            Block(
                title=say("hearing.how"),
                lines=(
                    say("hearing.how_give"),
                    say("hearing.how_study"),
                    say("hearing.how_sing"),
                    say("hearing.how_private"),
                ),
                numbered=True,
            ),
            Block(
                title=say("hearing.ticks"),
                lines=(
                    say("hearing.tick_pitch"),
                    say("hearing.tick_rhythm"),
                    say("hearing.tick_flow"),
                    say("hearing.tick_skill"),
                ),
            ),
            Block(
                title=say("hearing.equal"),
                lines=(
                    say("hearing.spread", share=f"{100 * found.spread:.0f}"),
                    say("hearing.kept"),
                ),
            ),
            Block(title=say("board.care.title"), lines=cautions(say), small=True),
        ),
        mark=say("hearing.how"),
    )


def _lines(found: EqualLines, drawn: list[str], say: Wording) -> Iterator[PaperPage]:
    """The numbered lines, a few on each page, to be cut apart."""
    for begin in range(0, len(drawn), _LINES_A_PAGE):
        numbers = range(begin, min(begin + _LINES_A_PAGE, len(drawn)))
        yield PaperPage(
            heading=say("hearing.lines"),
            facts=say("hearing.start", key=key_words(found.lines[0].key, say)),
            pictures=tuple(
                Picture(
                    svg=drawn[n],
                    caption=say(
                        "hearing.line", number=n + 1, tone=_first_tone(found.lines[n], say)
                    ),
                )
                for n in numbers
            ),
            mark=say("hearing.lines"),
        )


def _boxes(found: EqualLines, drawn: list[str], say: Wording) -> Iterator[PaperPage]:
    """The director's copy: each line small, under it a box a measure for pitch and for rhythm."""
    measures = found.lines[0].measures
    grid = Grid(
        columns=(
            *(say("hearing.measure", number=n) for n in range(1, measures + 1)),
            say("hearing.flow"),
        ),
        rows=(say("hearing.pitch"), say("hearing.rhythm")),
        one_last=True,
    )
    for begin in range(0, len(drawn), _GRIDS_A_PAGE):
        numbers = range(begin, min(begin + _GRIDS_A_PAGE, len(drawn)))
        yield PaperPage(
            heading=say("hearing.marks"),
            pictures=tuple(
                Picture(svg=drawn[n], caption=say("hearing.seat", number=n + 1), grid=grid)
                for n in numbers
            ),
            mark=say("hearing.marks"),
        )


def _first_tone(line: Exercise, say: Wording) -> str:
    return pitch_words(line.first_pitch().name, say)
