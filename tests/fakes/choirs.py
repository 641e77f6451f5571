"""Choirs, exercises and readings with defaults, for tests to change what they are about."""

from dataclasses import replace
from datetime import date, time
from fractions import Fraction

from bot.activities.calendar import Meeting, Weekdays
from bot.activities.choir import Choir, ChoirVoice, Steps
from bot.activities.reading import DAILY, Reading, ReadingPart
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.voice import DEFAULT_RANGES, Clef, Voice

MONDAY = date(2026, 9, 14)
NEW_YORK = "America/New_York"
QUARTER = Fraction(1, 4)
HALF = Fraction(1, 2)


def a_voice(voice: Voice = Voice.TREBLE, label: str = "Part I", clef: Clef = Clef.TREBLE):
    return ChoirVoice(voice=voice, label=label, range=DEFAULT_RANGES[voice], clef=clef)


TREBLE = a_voice()
CHANGING = a_voice(Voice.CHANGING, "Part II", Clef.TREBLE8)
BARITONE = a_voice(Voice.BARITONE, "Part III", Clef.BASS)


def a_choir(choir_id: str = "choir-1", **changes) -> Choir:
    choir = Choir(
        id=choir_id,
        name="Third Period",
        voices=(TREBLE,),
        steps=Steps(),
        zone=NEW_YORK,
        meeting=Meeting(pattern=Weekdays(days=frozenset(range(5)))),
        post_at=time(8, 0),
        starts_on=MONDAY,
    )
    return replace(choir, **changes)


def a_line(*steps: int, last: int = 0) -> Part:
    notes = [Note(duration=QUARTER, tone=Tone(step=step)) for step in steps]
    return Part(notes=(*notes, Note(duration=HALF, tone=Tone(step=last))), do_octave=4)


def an_exercise(*steps: int, key: str = "F") -> Exercise:
    line = a_line(*(steps or (0, 1, 2, 1, 0, 1)))
    return Exercise(key=Key.parse(key), metre=Metre.parse("4/4"), parts=(line,))


def a_reading(reading_id: str = "reading-1", **changes) -> Reading:
    part = ReadingPart(
        voice=Voice.TREBLE,
        label="Part I",
        clef=Clef.TREBLE,
        line=0,
        do_octave=4,
        apart_key=Key.parse("F"),
        apart_do_octave=4,
    )
    reading = Reading(
        id=reading_id,
        choir_id="choir-1",
        on=MONDAY,
        slot=DAILY,
        draw=0,
        exercise=an_exercise(),
        parts=(part,),
        steps=Steps(),
        seed=1,
    )
    return replace(reading, **changes)
