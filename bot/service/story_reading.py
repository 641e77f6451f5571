"""The line of a scene, or the finale that a class earned, as a reading of its choir. Pure."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from datetime import date

from bot.activities.choir import Choir, Steps
from bot.activities.reading import Reading, ReadingPart
from bot.activities.story import Story
from bot.activities.story_music import FinaleMusic, SceneLine
from bot.activities.story_steps import level_of_story
from bot.errors import InputProblems
from bot.music.level import Level
from bot.music.voice import VoiceRange
from bot.service.content import Content
from bot.service.placing import placed, ranges_of

STORY = "story"  # the slot of lines that belong to a telling


def ranges_for(story: Story, choir: Choir, content: Content) -> tuple[VoiceRange, ...]:
    """The ranges in which a choir sings a story, the highest first."""
    return ranges_of(choir, _level(story, content))


def reading_of(
    music: SceneLine | FinaleMusic,
    story: Story,
    choir: Choir,
    content: Content,
    on: date,
    draw: int,
) -> Reading:
    """Music of a story as the choir reads it together, with the key in which each part is alone."""
    level = _level(story, content)
    pitch, rhythm, voice = level.steps
    return Reading(
        id=secrets.token_hex(10),
        choir_id=choir.id,
        on=on,
        slot=STORY,
        draw=draw,
        exercise=music.exercise,
        parts=_parts(music, choir, level, content),
        steps=Steps(sequence=level.sequence, pitch=pitch, rhythm=rhythm, voice=voice),
        seed=0,
        title=story.title,
    )


def _level(story: Story, content: Content) -> Level:
    """What the lines of a story read; InputProblems for steps that are not there."""
    level, findings = level_of_story(story, content.sequences)
    if level is None:
        raise InputProblems(finding.fault for finding in findings)
    return level


def _parts(
    music: SceneLine | FinaleMusic, choir: Choir, level: Level, content: Content
) -> tuple[ReadingPart, ...]:
    return placed(music.exercise, _where(music), choir, level.keys, content.wording)


def _where(music: SceneLine | FinaleMusic) -> Sequence[tuple[int, int]]:
    """For each singer, from the highest, the line that is sung and its octave of do."""
    found = {
        singer: (line, octave)
        for line, (singers, octaves) in enumerate(zip(music.singers, music.do_octaves, strict=True))
        for singer, octave in zip(singers, octaves, strict=True)
    }
    return [found[singer] for singer in sorted(found)]
