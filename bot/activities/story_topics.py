"""Topics on which a school may not survey its pupils unasked; a story vote keeps clear of them.

The eight protected areas of 20 U.S.C. 1232h(b) with words that point to each, from
`content/topics/`. A word ending in `*` stands for all words that begin so.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bot.activities.story import Story
from bot.activities.story_finding import Finding, warning
from bot.errors import InputProblems
from bot.music.table_reader import TableReader
from bot.music.toml_lines import read_toml

_SENTENCE = re.compile(r"[^.!?…]*[.!?…]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Topic:
    """One protected area, with words that point to it in small letters."""

    id: str
    name: str
    words: tuple[str, ...]

    def found(self, text: str) -> str | None:
        """The first word of the list that stands in a text."""
        low = text.casefold().replace("’", "'")
        for word in self.words:
            stem = re.escape(word.removesuffix("*"))
            ending = r"\w*" if word.endswith("*") else ""
            if match := re.search(rf"(?<!\w){stem}{ending}(?!\w)", low):
                return match[0]
        return None


def parse_topics(text: str, file: str) -> tuple[Topic, ...]:
    """Read a list of topics; InputProblems with every fault."""
    document, reader = read_toml(text, file), TableReader()
    topics = []
    for table in document.arrays.get("topic", ()):
        reader.only(table, "id", "name", "words")
        words = reader.strings(table, "words")
        if not words:
            reader.fault(table.at("words"), "no words", "a list of words in small letters")
        topics.append(
            Topic(
                id=reader.text(table, "id"),
                name=reader.text(table, "name"),
                words=tuple(word.casefold() for word in words),
            )
        )
    if reader.faults:
        raise InputProblems(reader.faults)
    return tuple(topics)


def topic_findings(story: Story, topics: Sequence[Topic]) -> Iterator[Finding]:
    """Warn of every vote whose question or paths touch a topic."""
    for scene in story.scenes:
        if scene.ending:
            continue
        asked = " ".join(each for each in _SENTENCE.findall(scene.text) if each.endswith("?"))
        for text, place in ((asked, scene.at("text")), *((p.label, p.place) for p in scene.paths)):
            for topic in topics:
                if word := topic.found(text):
                    problem = f"{word!r} in a vote may touch on {topic.name}"
                    yield warning(place, problem, "a vote must not ask for it: 20 U.S.C. 1232h")
