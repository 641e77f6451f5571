"""The week's lines read other ways, on paper: a page a line, the answers at the very end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bot.activities.way import Way
from bot.notation.paper import Block, PaperPage, Picture, paper
from bot.notation.pdf import Page
from bot.service.printed import cautions
from bot.service.takehome import HomeFolder, HomeSheet
from bot.service.tune_home import HomeTune
from bot.wording import Wording


def printed_ways(
    folder: HomeFolder,
    say: Wording,
    tune: HomeTune | None = None,
    *,
    large: bool = False,
    page: Page = "letter",
) -> bytes:
    """A PDF for who has read the week's lines; with the week's mystery tune. RenderFailed.

    In large print every picture has a page of its own, and what needs none is told once.
    """
    pages = [_told(folder.sheets, say)] if large else []
    for sheet in folder.sheets:
        pages += _pages(sheet, _heading(folder, sheet, say), say, large=large)
    if tune is not None:
        pages.append(_tune_page(tune, say, large=large))
    for sheet in folder.sheets:
        pages += _answers(sheet, _heading(folder, sheet, say), say, large=large)
    if tune is not None and tune.title is not None:
        told = Block(title=say("tune.right", title=tune.title), lines=tune.told)
        pages.append(PaperPage(heading=say("tune.name"), blocks=(told,), mark=say("tune.answer")))
    return paper(pages, title=say("way.others"), page=page, large=large)


def _heading(folder: HomeFolder, sheet: HomeSheet, say: Wording) -> str:
    return say("takehome.heading", choir=folder.choir.name, day=say.date(sheet.card.on))


def _pages(sheet: HomeSheet, heading: str, say: Wording, *, large: bool) -> Iterator[PaperPage]:
    """What is read without another page in words, then the pages of the other ways."""
    pictures = [
        *_pictures(sheet, Way.RHYTHM_ONLY, say("way.rhythm_page"), say, large=large),
        *_pictures(sheet, Way.HIDDEN_MEASURES, say("way.hidden_page"), say, large=large),
    ]
    if not large:
        shown, blocks = tuple(pictures), _told([sheet], say).blocks
        yield PaperPage(heading=heading, pictures=shown, blocks=blocks, mark=heading)
    for number, picture in enumerate(pictures if large else ()):
        yield PaperPage(heading=heading, pictures=(picture,), mark="" if number else heading)


def _told(sheets: Sequence[HomeSheet], say: Wording) -> PaperPage:
    """A page of words alone: ways that need no page of their own, and how voices are spared."""
    words = Block(title=say("way.others"), lines=tuple(_spoken(sheets, say)))
    care = Block(title=say("board.care.title"), lines=cautions(say), small=True)
    return PaperPage(heading=say("way.print"), blocks=(words, care), mark=say("way.others"))


def _spoken(sheets: Sequence[HomeSheet], say: Wording) -> Iterator[str]:
    """The ways that are told in a sentence, the day's own page before one."""
    wordless = any(part.loses_words for sheet in sheets for part in sheet.parts)
    for way in (Way.CURTAIN, Way.RETROGRADE, Way.ONLY_DO, Way.ECHO_HALVES):
        told = say("way.slip") if way is Way.CURTAIN else say(f"way.hint.{way}")
        more = f" {say('way.wordless')}" if wordless and way is Way.RETROGRADE else ""
        yield f"{say(f'way.name.{way}')}: {told}{more}"


def _answers(sheet: HomeSheet, heading: str, say: Wording, *, large: bool) -> Iterator[PaperPage]:
    pictures = _pictures(sheet, Way.RETROGRADE, say("way.answer_page"), say, large=large)
    groups = [[picture] for picture in pictures] if large else [pictures] if pictures else []
    for group in groups:
        mark = say("way.answer_page")
        yield PaperPage(heading=heading, pictures=tuple(group), mark=mark)


def _pictures(
    sheet: HomeSheet, way: Way, caption: str, say: Wording, *, large: bool
) -> list[Picture]:
    """The pages of one way, once for each clef and octave in which it is read.

    The phone's engraving, two measures a system, is the one whose notes are large.
    """
    labels: dict[str, list[str]] = {}
    for part in sheet.parts:
        drawn = part.turned if large else part.turned_wide
        if way.value in drawn:
            labels.setdefault(drawn[way.value], []).append(part.label)
    alone = len(labels) <= 1
    return [
        Picture(
            svg=svg,
            caption=caption if alone else say("way.for_part", what=caption, part=", ".join(names)),
        )
        for svg, names in labels.items()
    ]


def _tune_page(tune: HomeTune, say: Wording, *, large: bool) -> PaperPage:
    first = tune.sheet.parts[0].together
    names = Block(title=say("tune.ask"), lines=tune.names, numbered=True)
    return PaperPage(
        heading=say("tune.name"),
        facts=say("tune.hint.inward"),
        pictures=(Picture(svg=first.phone_picture if large else first.picture),),
        blocks=(names,),
        mark=say("tune.name"),
    )
