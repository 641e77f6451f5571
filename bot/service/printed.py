"""The take-home sheets and the substitute's folder on paper. Slow enough for a thread."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bot.notation.paper import Block, PaperPage, Picture, paper
from bot.notation.pdf import Page
from bot.service.sub import SubFolder
from bot.service.takehome import HomeFolder, HomeSheet, Sung
from bot.wording import Wording


def printed_week(
    folder: HomeFolder, say: Wording, *, large: bool = False, page: Page = "letter"
) -> bytes:
    """A week as PDF: a page for each reading as the class reads it, then one for home.

    In large print every clef has a page of its own, and the last page says how we read.
    """
    choir, pages = folder.choir, list[PaperPage]()
    for sheet in folder.sheets:
        day = say.date(sheet.card.on)
        heading = say("takehome.heading", choir=choir.name, day=day)
        pages += _class_pages(sheet, heading, say, large=large)
    for sheet in folder.sheets:
        heading = say("takehome.heading", choir=choir.name, day=say.date(sheet.card.on))
        pages += _own_pages(sheet, heading, say, large=large)
    if large:
        pages.append(PaperPage(heading=choir.name, blocks=_foot(say)))
    return paper(pages, title=folder.title(say), page=page, large=large)


def printed_sub(
    folder: SubFolder, say: Wording, *, large: bool = False, page: Page = "letter"
) -> bytes:
    """The substitute's folder as PDF: how it goes, in plain words, then one page a sheet."""
    name = folder.choir.name
    pages = [
        PaperPage(
            heading=say("sub.title", choir=name),
            facts=say("sub.lead"),
            blocks=(
                Block(title=say("sub.how"), lines=how_it_goes(say, folder), numbered=True),
                Block(title=say("sub.silent_title"), lines=(say("sub.silent"), say("sub.nobody"))),
                Block(title=say("sub.stop_title"), lines=(say("sub.stop"), say("sub.enough"))),
                Block(title=say("sub.after_title"), lines=(say("sub.after"),)),
            ),
            mark=say("sub.how"),
        )
    ]
    for number, sheet in enumerate(folder.sheets, start=1):
        heading = say("sub.sheet_of", number=number, choir=name)
        pages += _class_pages(sheet, heading, say, large=large)
    if large:
        pages.append(PaperPage(heading=name, blocks=_foot(say)))
    return paper(pages, title=say("sub.title", choir=name), page=page, large=large)


def how_it_goes(say: Wording, folder: SubFolder) -> tuple[str, ...]:
    """What a substitute who reads no music does with one sheet, step by step."""
    steps = [
        say("sub.step.hand_out"),
        say("sub.step.key"),
        say("sub.step.look"),
        say("sub.step.clap"),
        say("sub.step.inward"),
        say("sub.step.sing"),
        say("sub.step.mend"),
        say("sub.step.again"),
    ]
    if any(part.together.line_sound for sheet in folder.sheets for part in sheet.parts):
        steps.append(say("sub.step.hear"))
    return tuple(steps)


def counting(pulses: int) -> str:
    """What is counted aloud for one measure, such as `1 2 3 4`."""
    return " ".join(str(beat) for beat in range(1, pulses + 1))


def cautions(say: Wording) -> tuple[str, ...]:
    """What is said under everything that is sung from."""
    return (
        say("board.care.hurts"),
        say("board.care.octave"),
        say("board.care.silent"),
        say("board.care.hoarse"),
    )


def routine(say: Wording) -> tuple[str, ...]:
    """How a line is read, step by step."""
    return (
        say("board.routine.look_hint"),
        say("board.routine.chant_hint"),
        say("board.routine.hear_hint"),
        say("board.routine.sing_hint"),
        say("board.routine.mend_hint"),
        say("board.routine.again_hint"),
    )


def _class_pages(
    sheet: HomeSheet, heading: str, say: Wording, *, large: bool
) -> Iterator[PaperPage]:
    """The line as the room reads it, once for each clef and octave; large print one a page."""
    facts = _facts(sheet, sheet.parts[0].together, say)
    shown = _distinct([(part.label, part.together) for part in sheet.parts], large=large)
    groups = [[one] for one in shown] if large else [shown]
    for pictures in groups:
        yield PaperPage(
            heading=heading,
            facts=facts,
            pictures=tuple(_captioned(pictures, alone=len(shown) == 1)),
            blocks=() if large else _foot(say),
            mark=heading,
        )


def _own_pages(sheet: HomeSheet, heading: str, say: Wording, *, large: bool) -> Iterator[PaperPage]:
    """The line alone at home, each part in a key of its own."""
    own = [(part.label, part.own) for part in sheet.parts if part.own is not None]
    pictures = [
        Picture(
            svg=_svg(sung, large=large),
            caption=say("takehome.own_paper", part=label, key=sung.key_spoken),
        )
        for label, sung in own
    ]
    groups = [[picture] for picture in pictures] if large else [pictures] if pictures else []
    for group in groups:
        home = say("takehome.at_home", heading=heading)
        yield PaperPage(
            heading=home,
            facts=_facts(sheet, None, say),
            pictures=tuple(group),
            blocks=() if large else _foot(say),
            mark=home,
        )


def _facts(sheet: HomeSheet, sung: Sung | None, say: Wording) -> str:
    card, beats = sheet.card, counting(sheet.card.pulses)
    if card.rhythm_only:
        return say("takehome.facts_rhythm", metre=card.metre, bpm=card.tempo_bpm, beats=beats)
    if sung is None:
        return say("takehome.facts_home", metre=card.metre, bpm=card.tempo_bpm, beats=beats)
    key = sung.key_spoken
    return say("takehome.facts", key=key, metre=card.metre, bpm=card.tempo_bpm, beats=beats)


def _foot(say: Wording) -> tuple[Block, ...]:
    return (
        Block(title=say("board.routine.name"), lines=routine(say), numbered=True),
        Block(title=say("board.care.title"), lines=cautions(say), small=True),
    )


def _distinct(sung: Sequence[tuple[str, Sung]], *, large: bool) -> list[tuple[str, str]]:
    """Pictures with the labels of all who read from them."""
    labels: dict[str, list[str]] = {}
    for label, each in sung:
        labels.setdefault(_svg(each, large=large), []).append(label)
    return [(", ".join(names), svg) for svg, names in labels.items()]


def _captioned(shown: Sequence[tuple[str, str]], *, alone: bool) -> Iterator[Picture]:
    for labels, svg in shown:
        yield Picture(svg=svg, caption="" if alone else labels)


def _svg(sung: Sung, *, large: bool) -> str:
    """The phone's engraving, two measures a system, is the one whose notes are large."""
    return sung.phone_picture if large else sung.picture
