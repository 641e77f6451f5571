"""A story on paper: a page for each scene, with the numbers of the pages to turn to."""

from __future__ import annotations

from collections.abc import Iterator

from bot.notation.paper import Block, PaperPage, Picture, paper
from bot.service.story_book import Leaf, Sheet, StoryBook
from bot.wording import Wording


def printed_story(book: StoryBook, say: Wording, *, large: bool = False) -> bytes:
    """The story as PDF. Slow enough for a thread. RenderFailed."""
    pages = [page for leaf in book.leaves for page in _pages(leaf, book, say)]
    return paper(pages, title=book.title, large=large)


def _pages(leaf: Leaf, book: StoryBook, say: Wording) -> Iterator[PaperPage]:
    heading = say("story.leaf", title=book.title, number=leaf.number)
    ways = tuple(
        say("story.turn", syllable=way.syllable, label=way.label, number=way.number)
        for way in leaf.ways_on
    )
    yield PaperPage(
        heading=heading,
        facts=" ".join(leaf.paragraphs),
        pictures=(_picture(leaf.sheet),) if leaf.sheet else (),
        blocks=(Block(title=say("story.vote" if ways else "story.end"), lines=ways),),
        mark=heading,
    )
    for end in leaf.ends:
        yield PaperPage(
            heading=say("story.finale", title=book.title),
            pictures=(_picture(end.sheet),),
            blocks=(Block(title=say("story.earned"), lines=end.lines),),
        )


def _picture(sheet: Sheet) -> Picture:
    return Picture(svg=sheet.picture, caption=sheet.key_spoken)
