"""How long a telling takes in class, and where a class may stop for today.

Working figures, rounded up from a reading of scenes aloud: a text at 130 words a minute; the key
and the note 12 s; half a minute's study, as sight-reading criteria allow for a short line; two
readings with a measure counted in and a breath between; a vote 35 s with hands counted.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import accumulate, pairwise

from bot.activities.reading_grade import count
from bot.activities.story import Scene, Story, tellings
from bot.activities.story_finding import Finding, warning
from bot.music.exercise import Exercise
from bot.music.rhythm import Metre

LONGEST_MINUTES = 15.0
_WORDS_A_SECOND = 130 / 60
_KEY_S, _STUDY_S, _BREATH_S, _VOTE_S = 12.0, 30.0, 5.0, 35.0
_READINGS = 2
_BEATS_A_MINUTE = 60.0  # of a line whose tempo is not known yet


@dataclass(frozen=True, slots=True, kw_only=True)
class Sitting:
    """Scenes of one telling that are told without a stop. `seconds` after each of them."""

    scenes: tuple[str, ...]
    seconds: tuple[float, ...]

    @property
    def minutes(self) -> float:
        """How long it takes as a whole."""
        return self.seconds[-1] / 60


def scene_seconds(story: Story, scene: Scene, music: Mapping[str, Exercise]) -> float:
    """How long a scene takes: text, line, and the vote or the finale. `music` by scene id."""
    seconds = count(scene.text).words / _WORDS_A_SECOND
    line = _line_seconds(story, music.get(scene.id))
    if scene.line is not None:
        seconds += _KEY_S + _STUDY_S + _READINGS * (line + _BREATH_S)
    if not scene.ending:
        return seconds + _VOTE_S
    finale = story.finale_of(scene)
    parts = 2 if finale.new_part else finale.parts
    alone = line * parts if parts > 1 else 0.0
    return seconds + _KEY_S + alone + _READINGS * (line + _BREATH_S)


def _line_seconds(story: Story, exercise: Exercise | None) -> float:
    """A line with one measure counted in."""
    metre = exercise.metre if exercise else story.metre or Metre()
    measures = (exercise.measures if exercise else story.measures) + 1
    beats = measures * metre.measure / metre.pulse
    return float(beats) * 60 / _BEATS_A_MINUTE


def seconds_by_scene(story: Story, music: Mapping[str, Exercise]) -> Mapping[str, float]:
    """How long each scene takes."""
    return {scene.id: scene_seconds(story, scene, music) for scene in story.scenes}


def sittings(
    story: Story, way: tuple[str, ...], seconds: Mapping[str, float]
) -> tuple[Sitting, ...]:
    """A telling cut at the scenes after which a class may stop; `seconds` by scene id."""
    cuts = [0, *(n + 1 for n, each in enumerate(way[:-1]) if story.scene(each).stop), len(way)]
    return tuple(
        Sitting(
            scenes=way[start:end],
            seconds=tuple(accumulate(seconds[scene] for scene in way[start:end])),
        )
        for start, end in pairwise(cuts)
    )


def minutes(story: Story, music: Mapping[str, Exercise]) -> tuple[float, float]:
    """The shortest and the longest telling without a stop between; 0, 0 where none ends."""
    seconds = seconds_by_scene(story, music)
    sums = [sum(seconds[scene] for scene in way) / 60 for way in tellings(story)]
    return (min(sums), max(sums)) if sums else (0.0, 0.0)


def time_findings(story: Story, music: Mapping[str, Exercise]) -> Iterator[Finding]:
    """Warn at the scene in which a telling goes on past a quarter of an hour without a stop."""
    seconds = seconds_by_scene(story, music)
    told: set[str] = set()
    for way in tellings(story):
        for sitting in sittings(story, way, seconds):
            late = [
                (scene, passed)
                for scene, passed in zip(sitting.scenes, sitting.seconds, strict=True)
                if passed > LONGEST_MINUTES * 60
            ]
            if not late or late[0][0] in told:
                continue
            scene, passed = late[0]
            told.add(scene)
            on = " > ".join(sitting.scenes)
            problem = f"{passed / 60:.1f} minutes to the end of {scene!r} on the way {on}"
            remedy = f"a stop = true before it, or shorter texts: {LONGEST_MINUTES:.0f} at most"
            yield warning(story.scene(scene).place, problem, remedy)
