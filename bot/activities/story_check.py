"""Everything that can be said about a story before a line of it is composed, all at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from bot.activities.story import Story, tellings
from bot.activities.story_finding import Finding, in_order
from bot.activities.story_graph import finale_findings, graph_findings
from bot.activities.story_steps import level_of_story, music_findings, step_findings
from bot.activities.story_texts import length_findings, reading_findings, reading_grade
from bot.activities.story_time import minutes, time_findings
from bot.activities.story_topics import Topic, topic_findings
from bot.music.exercise import Exercise
from bot.music.sequence import Sequence as Steps


@dataclass(frozen=True, slots=True, kw_only=True)
class StoryReport:
    """What a story is, in figures, and what was found. `minutes` are the shortest and longest."""

    story: Story
    tellings: int
    scenes_a_way: tuple[int, int]
    minutes: tuple[float, float]
    grade: float
    findings: tuple[Finding, ...]

    @property
    def sound(self) -> bool:
        """Whether the story can be told: nothing found, or warnings only."""
        return all(each.warning for each in self.findings)

    def tree(self) -> dict[str, object]:
        """The report as plain values for JSON."""
        story = self.story
        keys = {story.key_of(scene) for scene in story.scenes if scene.line is not None}
        return {
            "version": 1,
            "id": story.id,
            "title": story.title,
            "sound": self.sound,
            "scenes": len(story.scenes),
            "endings": [scene.id for scene in story.endings],
            "paths": self.tellings,
            "scenes_a_path": list(self.scenes_a_way),
            "voices": [voice.value for voice in story.voices],
            "keys": sorted(key.plain if key else "composer's choice" for key in keys),
            "minutes": [round(each, 1) for each in self.minutes],
            "reading_grade": round(self.grade, 1),
            "faults": [
                {
                    "place": each.fault.place,
                    "line": each.line,
                    "problem": each.fault.problem,
                    "remedy": each.fault.remedy,
                    "warning": each.warning,
                }
                for each in self.findings
            ],
        }


def check_story(
    story: Story,
    sequences: Mapping[str, Steps],
    topics: Sequence[Topic] = (),
    music: Mapping[str, Exercise] | None = None,
    more: Iterable[Finding] = (),
) -> StoryReport:
    """Check a story that was read; `music` is the author's own by scene id, `more` joins in.

    How lengths of tellings are told where there are too many ways: 0 for all figures.
    """
    music = music or {}
    level, findings = level_of_story(story, sequences)
    found = [*findings, *more, *graph_findings(story), *finale_findings(story)]
    found += [*length_findings(story), *reading_findings(story), *topic_findings(story, topics)]
    found += music_findings(story, music)
    if level is not None:
        found += step_findings(story, level)
    try:
        ways = tellings(story)
        found += time_findings(story, music)
        spent = minutes(story, music)
    except ValueError:  # told by finale_findings
        ways, spent = (), (0.0, 0.0)
    sizes = [len(way) for way in ways]
    return StoryReport(
        story=story,
        tellings=len(ways),
        scenes_a_way=(min(sizes), max(sizes)) if sizes else (0, 0),
        minutes=spent,
        grade=reading_grade(story),
        findings=in_order(found),
    )
