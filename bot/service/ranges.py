"""Range tests at the desk: typed in per part, kept, and followed by the lines of coming days."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from bot.activities.calendar import local_day
from bot.activities.choir import Choir
from bot.activities.ranges import DueTest, RangeTest, due_tests
from bot.errors import Fault, InputProblems, NoExercise
from bot.music.level import level_of
from bot.music.parts import lines_together
from bot.music.pitch import Key, Pitch
from bot.music.voice import Voice
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.content import Content
from bot.service.form_fields import FormFields
from bot.service.placing import ranges_of
from bot.store.choirs import choir_added_on
from bot.store.database import Database
from bot.store.range_tests import keep_test, range_tests
from bot.wording import Wording


@dataclass(frozen=True, slots=True, kw_only=True)
class Tested:
    """What became of a test: the parts that were tested, and why no line fits now, if none does."""

    voices: tuple[Voice, ...]
    trouble: str | None


class Ranges:
    """Nothing about a singer comes in here: a part has two notes and a date."""

    def __init__(self, database: Database, choirs: Choirs, content: Content, clock: Clock) -> None:
        self._database, self._choirs = database, choirs
        self._content, self._clock = content, clock

    async def tests(self, choir_id: str) -> tuple[RangeTest, ...]:
        """All tests of a choir, the newest first."""
        async with self._database.snapshot() as read:
            return await range_tests(read, choir_id)

    async def test(self, choir: Choir, form: Mapping[str, Sequence[str]]) -> Tested:
        """Read `low_<voice>` and `high_<voice>` of today's test and let the ranges follow.

        A part whose fields are empty was not tested. InputProblems names each faulty field;
        Refused("choir.own_music") where the director's own music of a coming day no longer fits.
        """
        today = local_day(self._clock.now(), choir.zone)
        tests = read_tests(choir, form, today, self._content.wording)
        ranges = {test.voice: test.range for test in tests}
        voices = tuple(
            replace(voice, range=ranges.get(voice.voice, voice.range)) for voice in choir.voices
        )
        narrowed = replace(choir, voices=voices)
        await self._choirs.change(narrowed)
        async with self._database.transaction() as change:
            for test in tests:
                await keep_test(change, choir.id, test)
        trouble = await asyncio.to_thread(self._trouble, narrowed)
        return Tested(voices=tuple(ranges), trouble=trouble)

    def _trouble(self, choir: Choir) -> str | None:
        """Why nothing can be composed in these ranges at the choir's steps."""
        order, steps = self._content.sequences[choir.steps.sequence], choir.steps
        level = level_of(order, (steps.pitch, steps.rhythm, steps.voice))
        key = None if choir.key is None else Key.parse(choir.key)
        try:
            lines_together(order, level, ranges_of(choir, level), key, seed=0)
        except NoExercise as refusal:
            return self._content.wording(refusal.key, **refusal.values)
        return None


def read_tests(
    choir: Choir, form: Mapping[str, Sequence[str]], today: date, say: Wording
) -> tuple[RangeTest, ...]:
    """The tests that a form holds; InputProblems with every fault, or where it holds none."""
    fields, tests = FormFields(form, say), []
    for voice in choir.voices:
        names = f"low_{voice.voice.value}", f"high_{voice.voice.value}"
        if not any(fields.given(name) for name in names):
            continue
        low, high = (_note(fields, name) for name in names)
        if low is None or high is None:
            continue
        if low.midi >= high.midi:
            fields.fault(names[0], say("ranges.fault.order", low=low, high=high))
            continue
        tests.append(RangeTest(voice=voice.voice, on=today, low=low, high=high))
    if not tests and not fields.faults:
        raise InputProblems([Fault(place="", problem=say("ranges.fault.none"))])
    if fields.faults:
        raise InputProblems(fields.faults)
    return tuple(tests)


def _note(fields: FormFields, name: str) -> Pitch | None:
    problem = fields.say("choir.fault.pitch", example="Bb3")
    if not fields.given(name):
        fields.fault(name, problem)
        return None
    return fields.parsed(name, Pitch.parse, None, problem)


async def due_of(database: Database, choir: Choir, today: date) -> tuple[DueTest, ...]:
    """The parts of a choir that should be tested again."""
    async with database.snapshot() as read:
        return due_tests(
            choir, await range_tests(read, choir.id), await choir_added_on(read, choir.id), today
        )


def due_words(due: Sequence[DueTest], say: Wording) -> tuple[str, ...]:
    """The sentences on the desk: when parts were tested, what it means, what to do.

    Parts that were tested on one day share a sentence.
    """
    days: dict[date | None, list[DueTest]] = {}
    for each in due:
        days.setdefault(each.tested_on, []).append(each)
    told = []
    for tested_on, parts in days.items():
        values = {"labels": ", ".join(part.label for part in parts), "count": len(parts)}
        if tested_on is None:
            told.append(say("ranges.never", **values))
            continue
        day = say.date(tested_on, "MMMM d")
        late = any(part.late for part in parts)
        told.append(say("ranges.late" if late else "ranges.due", day=day, **values))
    return tuple(told)
