"""Whether a story keeps to its steps: lengths, metre, the syllables it votes on, its own music."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from bot.activities.story import Scene, Story
from bot.activities.story_finding import Finding, fault, warning
from bot.errors import InputProblems
from bot.music.exercise import Exercise, Tone
from bot.music.level import Level, level_of
from bot.music.sequence import Sequence
from bot.music.syllable import spoken


def level_of_story(
    story: Story, sequences: Mapping[str, Sequence]
) -> tuple[Level | None, tuple[Finding, ...]]:
    """What the lines of a story read; None with the faults where the steps are none."""
    sequence = sequences.get(story.sequence)
    if sequence is None:
        known = f"one of {', '.join(sequences)}"
        problem = f"no sequence {story.sequence!r}"
        return None, (fault(story.at("sequence"), problem, known),)
    try:
        return level_of(sequence, story.steps), ()
    except InputProblems as problems:
        return None, tuple(
            fault(story.at("steps"), f"{each.place}: {each.problem}", each.remedy)
            for each in problems.faults
        )


def step_findings(story: Story, level: Level) -> Iterator[Finding]:
    """Wishes that the steps do not grant."""
    if story.measures not in level.measures:
        lengths = " or ".join(str(length) for length in level.measures)
        problem = f"lines of {story.measures} measures at {', '.join(level.steps)}"
        yield fault(story.at("measures"), problem, f"these steps have {lengths}")
    metres = [metre for metre, _ in level.metres]
    if story.metre is not None and story.metre not in metres:
        known = ", ".join(str(metre) for metre in metres)
        problem = f"{story.metre} at {', '.join(level.steps)}"
        yield fault(story.at("metre"), problem, f"these steps have {known}")
    known = ", ".join(spoken(tone) for tone in level.tones)
    for _, path in story.all_paths():
        if path.syllable not in level.tones:
            problem = f"{spoken(path.syllable)} is not read yet at {level.steps[0]}"
            yield fault(path.place, problem, f"there are {known}")


def music_findings(story: Story, music: Mapping[str, Exercise]) -> Iterator[Finding]:
    """The author's own music: does it start on its path's syllable, can it join the finale."""
    firsts = story.first_tones()
    for scene in story.scenes:
        exercise = music.get(scene.id)
        if exercise is None or scene.line is None or scene.line.music is None:
            continue
        place = scene.line.music.place
        tones = exercise.parts[0].tones()
        if not tones:
            yield fault(place, "the music has no note", "write a line to sing")
            continue
        yield from _first(scene, tones[0], firsts[scene.id], place)
        if exercise.measures != story.measures or story.metre not in (None, exercise.metre):
            have = f"{exercise.measures} measures of {exercise.metre}"
            want = f"{story.measures} measures of {story.metre or exercise.metre}"
            yield warning(place, have, f"only lines of {want} can sound in the finale")


def _first(scene: Scene, tone: Tone, wanted: tuple[Tone, ...], place: str) -> Iterator[Finding]:
    for each in wanted:
        if each != tone:
            problem = f"the line of {scene.id!r} starts on {spoken(tone)}"
            yield fault(place, problem, f"the path to it promises {spoken(each)}")
