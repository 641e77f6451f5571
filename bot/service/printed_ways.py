"""The week's lines read other ways, on paper: a page a line, the answers at the very end."""

from __future__ import annotations

from collections.abc import Iterator

from bot.activities.way import Way
from bot.notation.paper import Block, PaperPage, Picture, paper
from bot.service.printed import cautions
from bot.service.takehome import HomeFolder, HomeSheet
from bot.service.tune_home import HomeTune
from bot.wording import Wording


def printed_ways(
    folder: HomeFolder, say: Wording, tune: HomeTune | None = None, *, large: bool = False
) -> bytes:
    """A PDF for who has read the week's lines; with the week's mystery tune. RenderFailed."""
    pages: list[PaperPage] = []
    for sheet in folder.sheets:
        pages += _pages(sheet, _heading(folder, sheet, say), say)
    if tune is not None:
        pages.append(_tune_page(tune, say))
    for sheet in folder.sheets:
        pages += _answers(sheet, _heading(folder, sheet, say), say)
    if tune is not None and tune.title is not None:
        told = Block(title=say("tune.right", title=tune.title), lines=tune.told)
        pages.append(PaperPage(heading=say("tune.name"), blocks=(told,), mark=say("tune.answer")))
    return paper(pages, title=say("way.others"), large=large)


def _heading(folder: HomeFolder, sheet: HomeSheet, say: Wording) -> str:
    return say("takehome.heading", choir=folder.choir.name, day=say.date(sheet.card.on))


def _pages(sheet: HomeSheet, heading: str, say: Wording) -> Iterator[PaperPage]:
    """What is read without another page in words, then the pages of the other ways."""
    spoken = (Way.CURTAIN, Way.RETROGRADE, Way.ONLY_DO, Way.ECHO_HALVES)
    lines = tuple(
        f"{say(f'way.name.{way}')}: "
        + (say("way.slip") if way is Way.CURTAIN else say(f"way.hint.{way}"))
        for way in spoken
    )
    words = Block(title=say("way.others"), lines=lines)
    care = Block(title=say("board.care.title"), lines=cautions(say), small=True)
    pictures = [
        *_pictures(sheet, Way.RHYTHM_ONLY, say("way.rhythm_page"), say),
        *_pictures(sheet, Way.HIDDEN_MEASURES, say("way.hidden_page"), say),
    ]
    yield PaperPage(heading=heading, pictures=tuple(pictures), blocks=(words, care), mark=heading)


def _answers(sheet: HomeSheet, heading: str, say: Wording) -> Iterator[PaperPage]:
    pictures = _pictures(sheet, Way.RETROGRADE, say("way.answer_page"), say)
    if pictures:
        yield PaperPage(heading=heading, pictures=tuple(pictures), mark=say("way.answer_page"))


def _pictures(sheet: HomeSheet, way: Way, caption: str, say: Wording) -> list[Picture]:
    """The pages of one way, once for each clef and octave in which it is read."""
    labels: dict[str, list[str]] = {}
    for part in sheet.parts:
        if way.value in part.turned_wide:
            labels.setdefault(part.turned_wide[way.value], []).append(part.label)
    alone = len(labels) <= 1
    return [
        Picture(
            svg=svg,
            caption=caption if alone else say("way.for_part", what=caption, part=", ".join(names)),
        )
        for svg, names in labels.items()
    ]


def _tune_page(tune: HomeTune, say: Wording) -> PaperPage:
    first = tune.sheet.parts[0].together
    names = Block(title=say("tune.ask"), lines=tune.names, numbered=True)
    return PaperPage(
        heading=say("tune.name"),
        facts=say("tune.hint.inward"),
        pictures=(Picture(svg=first.picture),),
        blocks=(names,),
        mark=say("tune.name"),
    )
