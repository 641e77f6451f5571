"""The line of one scene for a choir's voices: words set to music, or the author's own music."""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from bot.activities.story import Scene, Story
from bot.activities.story_music import SceneLine
from bot.errors import Fault, InputProblems, NoExercise, Refused
from bot.music.exercise import Exercise, Tone
from bot.music.level import Level
from bot.music.pitch import Key
from bot.music.sequence import Sequence as Steps
from bot.music.set_to_words import set_to_words, with_words
from bot.music.shared_ground import SharedGround
from bot.music.syllable import word_of
from bot.music.voice import VoiceRange
from bot.notation.pronouncing import sung_words
from bot.wording import Wording

_OCTAVES = range(6, 0, -1)
_REMEDY = "other words for this line, or another syllable for its path"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineMaker:
    """Everything that the lines of a story have in common. `own` is the author's music."""

    story: Story
    steps: Steps
    level: Level
    ranges: tuple[VoiceRange, ...]
    ground: SharedGround
    own: Mapping[str, Exercise]
    say: Wording
    seed: int

    @property
    def firsts(self) -> Mapping[str, tuple[Tone, ...]]:
        """The syllables on which paths lead to each scene."""
        return self.story.first_tones()

    def line(
        self,
        scene: Scene,
        key: Key | None,
        *,
        against: Sequence[Exercise] = (),
        seen: Sequence[Exercise] = (),
        attempt: int = 0,
    ) -> SceneLine:
        """The line of a scene in a key (None: the composer's choice).

        NoExercise where the words, the rules and `against` leave none; InputProblems at the line of
        the file where the words cannot be read or the author's music cannot be sung.
        """
        assert scene.line is not None, "only scenes with a line are asked for"
        if scene.id in self.own:
            return self._own(scene, key)
        firsts = self.firsts[scene.id]
        try:
            words = sung_words(scene.line.words).words
        except InputProblems as problems:
            raise InputProblems(
                Fault(place=scene.line.place, problem=each.problem, remedy=each.remedy)
                for each in problems.faults
            ) from problems
        sung = set_to_words(
            self.steps,
            self.level,
            self.ranges,
            words,
            first=word_of(firsts[0]) if firsts else None,
            key=key,
            ground=self.ground,
            against=against,
            seed=zlib.crc32(f"{self.seed} {scene.id} {attempt}".encode()),
            seen=seen,
        )
        lines = sung.reading.plan.lines
        return SceneLine(
            exercise=sung.exercise,
            singers=tuple(line.voices for line in lines),
            do_octaves=tuple(line.do_octaves for line in lines),
            bent=sung.bent,
        )

    def part(self, scene: Scene, old: Exercise, *, attempt: int = 0) -> Exercise:
        """A new part on the words of a scene that sounds well with its line; NoExercise.

        To a line without words it has a syllable for each note, and none is written.
        """
        assert scene.line is not None
        words = scene.line.words or " ".join(["la"] * len(old.parts[0].tones()))
        sung = set_to_words(
            self.steps,
            self.level,
            self.ranges[:1],
            sung_words(words).words,
            against=(old,),
            seed=zlib.crc32(f"{self.seed} {scene.id} part {attempt}".encode()),
            seen=(old,),
        )
        part = sung.exercise.parts[0]
        return replace(
            sung.exercise, parts=(part if scene.line.words else replace(part, words=()),)
        )

    def _own(self, scene: Scene, key: Key | None) -> SceneLine:
        """The author's music in the key of the room, each voice in an octave that it can sing."""
        assert scene.line is not None
        place = scene.line.music.place if scene.line.music else scene.line.place
        brought = self.own[scene.id]
        if len(brought.parts) > 1:
            problem = f"the music has {len(brought.parts)} parts"
            raise InputProblems([Fault(place=place, problem=problem, remedy="bring one line")])
        room = key or brought.key
        tones = brought.parts[0].tones()
        octaves = []
        for limits in self.ranges:
            fits = [
                octave
                for octave in _OCTAVES
                if all(limits.holds(room.pitch(t.step, t.alter, octave)) for t in tones)
            ]
            if not fits:
                problem = f"the music does not fit {limits.low} to {limits.high} in {room.plain}"
                raise InputProblems([Fault(place=place, problem=problem, remedy="another key")])
            octaves.append(fits[0])
        exercise = brought.in_key(replace(room, mode=brought.key.mode), (octaves[0],))
        return SceneLine(
            exercise=self._worded(scene, exercise),
            singers=(tuple(range(len(self.ranges))),),
            do_octaves=(tuple(octaves),),
        )

    def _worded(self, scene: Scene, exercise: Exercise) -> Exercise:
        assert scene.line is not None
        if not scene.line.words:
            return exercise
        try:
            return with_words(exercise, sung_words(scene.line.words).words)
        except ValueError as error:
            fault = Fault(place=scene.line.place, problem=str(error), remedy="one note a syllable")
            raise InputProblems([fault]) from error


def refused(say: Wording, place: str, refusal: Refused, remedy: str = "") -> Fault:
    """A refusal as a fault at a line of the file, in words."""
    return Fault(place=place, problem=say(refusal.key, **refusal.values), remedy=remedy)


def tellable(error: InputProblems | NoExercise, say: Wording, scene: Scene) -> list[Fault]:
    """What keeps a scene from having a line, for the author."""
    if isinstance(error, InputProblems):
        return list(error.faults)
    assert scene.line is not None
    return [refused(say, scene.line.place, error, _REMEDY)]
