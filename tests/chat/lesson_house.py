"""A lesson kept in memory: one line in F, with real pictures, real sounds and real keys."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, field
from fractions import Fraction

from bot.activities.choir import Choir
from bot.activities.reading import Reading, ReadingPart
from bot.activities.way import Way
from bot.errors import NoExercise, Refused
from bot.media.render import make
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.sequence import Sequence
from bot.service.card import ReadingCard
from bot.service.cards import card_of
from bot.service.lesson import LessonLine
from bot.service.lesson_line import Sign, StageMedia, key_choices, signs, stage_request
from bot.service.turned import in_way, turned_reading
from bot.wording import Wording

Steps = tuple[tuple[int | None, str], ...]


def a_line_of(measures: tuple[Steps, ...], metre: str = "4/4", key: str = "F") -> Exercise:
    """An exercise from scale steps and values, measure by measure."""
    notes = tuple(
        Note(duration=Fraction(value), tone=None if step is None else Tone(step=step))
        for measure in measures
        for step, value in measure
    )
    return Exercise(key=Key.parse(key), metre=Metre.parse(metre), parts=(Part(notes=notes),))


@dataclass
class MemoryLesson:
    """`fresh` is what `another` refuses with, None where there is always another line."""

    choirs: object
    say: Wording
    exercise: Exercise
    made: dict[str, bytes] = field(default_factory=dict)
    opened: set[str] = field(default_factory=set)
    refusal: NoExercise | None = None
    asked: list[tuple[object, ...]] = field(default_factory=list)
    trading: tuple[str, str] | None = None
    sequence: Sequence | None = None  # says what is new in a line from the right

    async def choir_now(self) -> Choir | None:
        return next(iter(await self.choirs.all()), None)

    async def next_choir(self, choir_id: str) -> Choir:
        order = await self.choirs.all()
        at = [choir.id for choir in order].index(choir_id)
        return order[(at + 1) % len(order)]

    async def line(
        self, choir_id: str, reading_id: str | None = None, way: Way = Way.PLAIN
    ) -> LessonLine:
        choir = await self.choirs.get(choir_id)
        reading = self._reading(choir, reading_id or "today")
        return LessonLine(
            card=self._card(reading, choir),
            choir=choir,
            turned=turned_reading(reading, way, choir, self.sequence, self.say),
            keys=key_choices(reading, choir, self.say),
            trading=self.trading,
            study_s=choir.presentation.study_s,
        )

    async def signs(self, reading_id: str, part: int, *, alone: bool) -> tuple[Sign, ...]:
        choir = next(iter(await self.choirs.all()))
        return signs(self._reading(choir, reading_id), part, alone=alone)

    async def another(self, choir_id: str, reading_id: str, way: Way = Way.PLAIN) -> str:
        if self.refusal is not None:
            raise self.refusal
        self.asked.append(("another", choir_id, reading_id))
        return "another"

    async def open(self, reading_id: str) -> None:
        self.opened.add(reading_id)

    async def media(
        self,
        reading_id: str,
        part: int,
        media: StageMedia,
        half_steps: int,
        bpm: int | None,
        way: Way = Way.PLAIN,
    ) -> bytes:
        choir = next(iter(await self.choirs.all()))
        if media is StageMedia.LINE and reading_id not in self.opened:
            raise Refused("stage.closed")
        reading = in_way(self._reading(choir, reading_id), media, way)
        request = stage_request(reading, choir, part, media, half_steps, bpm)
        if request.digest() not in self.made:
            self.made[request.digest()] = await asyncio.to_thread(make, request)
        return self.made[request.digest()]

    def _card(self, reading: Reading, choir: Choir) -> ReadingCard:
        return card_of(reading, choir, self.say)

    def _reading(self, choir: Choir, reading_id: str) -> Reading:
        octaves = {"treble": 4, "changing": 3, "baritone": 3}
        return Reading(
            id=reading_id,
            choir_id=choir.id,
            on=choir.starts_on,
            slot="daily",
            draw=0,
            exercise=self.exercise,
            parts=tuple(
                ReadingPart(
                    voice=voice.voice,
                    label=voice.label,
                    clef=voice.clef,
                    line=0,
                    do_octave=octaves[voice.voice],
                    apart_key=Key.parse("F"),
                    apart_do_octave=octaves[voice.voice],
                )
                for voice in choir.voices
            ),
            steps=choir.steps,
            seed=1,
        )
