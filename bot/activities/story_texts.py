"""Whether the texts of a story fit a projector and the surfaces, and whom they are written for."""

from __future__ import annotations

from collections.abc import Iterator

from bot.activities.reading_grade import count
from bot.activities.story import Story
from bot.activities.story_finding import Finding, fault, warning

# On the stage a text stands at 32 px or more beside the paths: nine lines of fifty characters. A
# path is one line of it, and within a button of Discord's (80) and an answer of its polls (55).
TEXT, LABEL, TITLE, ABOUT, SUNG = 450, 48, 60, 200, 120
_SURE = 40  # words from which the formula says something about a single scene
_SCENE_SLACK = 2.0  # grades that one scene may lie above the band


def length_findings(story: Story) -> Iterator[Finding]:
    """Texts that are too long for the stage or a surface."""
    yield from _long(story.title, TITLE, story.at("title"), "the title")
    yield from _long(story.about, ABOUT, story.at("about"), "what the story is about")
    for scene in story.scenes:
        yield from _long(scene.text, TEXT, scene.at("text"), "the text")
        if scene.line is not None:
            yield from _long(scene.line.words, SUNG, scene.line.place, "the sung line")
        for path in scene.paths:
            yield from _long(path.label, LABEL, path.place, "the path's label")


def _long(text: str, limit: int, place: str, what: str) -> Iterator[Finding]:
    if len(text) > limit:
        problem = f"{what} has {len(text)} characters"
        yield fault(place, problem, f"{limit} at most, so that all of it can be read on the stage")


def reading_findings(story: Story) -> Iterator[Finding]:
    """Texts that read harder than the story's band, by the Coleman-Liau index."""
    low, high = story.grades
    whole = reading_grade(story)
    if round(whole) > high:
        problem = f"the texts read at grade {whole:.1f}, and the story is for {low} to {high}"
        yield fault(story.at("grades"), problem, "shorter words and sentences, or other grades")
    for scene in story.scenes:
        counts = count(scene.text)
        if counts.words >= _SURE and counts.grade > high + _SCENE_SLACK:
            problem = f"the text reads at grade {counts.grade:.1f}"
            yield warning(scene.at("text"), problem, f"the story is for {low} to {high}")


def reading_grade(story: Story) -> float:
    """The Coleman-Liau grade of all texts of a story together."""
    return count("\n\n".join(scene.text for scene in story.scenes)).grade
