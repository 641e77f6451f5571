"""The set-up form of a choir: text fields in, one choir or every fault at once out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, time
from enum import StrEnum
from zoneinfo import available_timezones

from bot.activities.calendar import Meeting, Rotation, Weekdays
from bot.activities.choir import Choir, Hearing, Presentation, Steps
from bot.errors import InputProblems, NoExercise
from bot.music.parts import lines_together
from bot.music.pitch import Key
from bot.music.placement import in_mode_of
from bot.music.solfa import Naming, Solfa
from bot.music.step import Level, Track, level_of
from bot.music.step import Sequence as MusicSequence
from bot.music.tonality import KeyPattern
from bot.service.content import Content
from bot.service.days_off import parse_days_off, write_days_off
from bot.service.form_fields import FormFields
from bot.service.page_form import page_fields, read_page
from bot.service.placing import ranges_of
from bot.service.short_days import parse_short_days, write_short_days
from bot.service.voices_form import read_voices, voice_fields

Form = Mapping[str, Sequence[str]]

NAME_LIMIT = 60  # characters
STUDY_S = (5, 900)  # seconds
_MONDAY_TO_FRIDAY = frozenset(range(5))
_EIGHT = time(8)
_LONGEST_CYCLE = 10  # school days
_FIFTHS, _SEVENTHS = ("so", "sol"), ("ti", "si")
_OF_LENGTH = ("refusal.measures", "refusal.new_in_length", "refusal.in_length")


class Meets(StrEnum):
    """The kinds of meeting pattern."""

    WEEKDAYS = "weekdays"
    ROTATION = "rotation"


def parse_choir_form(form: Form, content: Content, *, choir_id: str, today: date) -> Choir:
    """Read the form's fields; InputProblems names each faulty field as its place.

    Only `name`, `voices` and `step_pitch` are needed; everything else has a default.
    """
    fields = FormFields(form, content.wording)
    name = fields.short_text("name", NAME_LIMIT)
    if not name:
        fields.fault("name", fields.say("choir.fault.name"))
    steps, level = _steps(fields, content)
    choir = Choir(
        id=choir_id,
        name=name,
        voices=read_voices(fields),
        steps=steps,
        zone=_zone(fields),
        meeting=_meeting(fields),
        post_at=fields.time("post_at", _EIGHT) or _EIGHT,
        starts_on=fields.day("starts_on", today) or today,
        presentation=_presentation(fields),
        measures=fields.whole("measures", 2, 16, None),
        key=_key(fields),
        bell_at=fields.time("bell_at", None),
        hearing=fields.one_of("hearing", Hearing, Hearing.DIRECTOR),
    )
    if level is not None and not fields.faults:
        _check_music(fields, choir, level, content)
    if fields.faults:
        raise InputProblems(fields.faults)
    return choir


def form_of(choir: Choir) -> dict[str, list[str]]:
    """The fields that `parse_choir_form` reads back as this very choir."""
    shown, solfa = choir.presentation, choir.presentation.solfa
    return {
        "name": [choir.name],
        **voice_fields(choir.voices),
        "sequence": [choir.steps.sequence],
        "step_pitch": [choir.steps.pitch],
        "step_rhythm": [choir.steps.rhythm],
        "step_voice": [choir.steps.voice],
        **_meeting_fields(choir.meeting),
        "post_at": [choir.post_at.isoformat("minutes")],
        "zone": [choir.zone],
        "starts_on": [choir.starts_on.isoformat()],
        "naming": [solfa.naming.value],
        "fifth": [solfa.fifth],
        "seventh": [solfa.seventh],
        "do_based_minor": [_yes(solfa.do_based_minor)],
        "key_pattern": [shown.key_pattern.value],
        "a4_hz": [f"{shown.a4_hz:g}"],
        "tempo_bpm": [_optional(shown.tempo_bpm)],
        "mark_do": [_yes(shown.mark_do)],
        "give_pitch": [_yes(shown.give_pitch)],
        **page_fields(shown.page),
        "study_s": [_optional(shown.study_s)],
        "measures": [_optional(choir.measures)],
        "key": [choir.key or ""],
        "bell_at": ["" if choir.bell_at is None else choir.bell_at.isoformat("minutes")],
        "hearing": [choir.hearing.value],
    }


def _steps(fields: FormFields, content: Content) -> tuple[Steps, Level | None]:
    """The steps, and what they let a choir read; a track that is left open takes what fits."""
    default = Steps()
    sequence_id = fields.text("sequence", next(iter(content.sequences), default.sequence))
    sequence = content.sequences.get(sequence_id)
    if sequence is None:
        fields.fault("sequence", fields.say("choir.fault.choice"))
        return default, None
    if not fields.given("step_pitch"):
        fields.fault("step_pitch", fields.say("choir.fault.step"))
        return default, None
    chosen = [_step(fields, sequence, track) for track in Track]
    try:
        level = level_of(sequence, (step for step in chosen if step is not None))
    except InputProblems as problems:
        for fault in problems.faults:
            fields.fault("step_rhythm", str(fault))
        return default, None
    pitch, rhythm, voice = level.steps
    return Steps(sequence=sequence_id, pitch=pitch, rhythm=rhythm, voice=voice), level


def _step(fields: FormFields, sequence: MusicSequence, track: Track) -> str | None:
    name = f"step_{track.value}"
    text = fields.text(name)
    if not text:
        return None
    if text not in {step.id for step in sequence.track(track)}:
        fields.fault(name, fields.say("choir.fault.choice"))
        return None
    return text


def _check_music(fields: FormFields, choir: Choir, level: Level, content: Content) -> None:
    """Refuse at the desk what could never be composed in the morning."""
    measures = choir.measures
    if measures is not None and measures not in level.measures:
        lengths = ", ".join(str(length) for length in level.measures)
        fields.fault("measures", fields.say("choir.fault.measures", lengths=lengths))
        measures = None
    key = in_mode_of(level, None if choir.key is None else Key.parse(choir.key))
    sequence = content.sequences[choir.steps.sequence]
    try:
        lines_together(sequence, level, ranges_of(choir, level), key, measures=measures, seed=0)
    except NoExercise as refusal:
        place = "voices" if key is None else "key"
        place = "measures" if refusal.key in _OF_LENGTH else place
        fields.fault(place, fields.say(refusal.key, **refusal.values))


def _zone(fields: FormFields) -> str:
    zone = fields.text("zone", "UTC")
    if zone not in available_timezones():
        fields.fault("zone", fields.say("choir.fault.zone"))
    return zone


def _meeting(fields: FormFields) -> Meeting:
    days_off, problems = parse_days_off(fields.text("days_off"), fields.say)
    for problem in problems:
        fields.fault("days_off", problem)
    short_days, problems = parse_short_days(fields.text("short_days"), fields.say)
    for problem in problems:
        fields.fault("short_days", problem)
    pattern: Weekdays | Rotation
    match fields.one_of("meets", Meets, Meets.WEEKDAYS):
        case Meets.WEEKDAYS:
            pattern = _weekdays(fields)
        case Meets.ROTATION:
            pattern = _rotation(fields, days_off)
    return Meeting(pattern=pattern, days_off=days_off, short_days=short_days)


def _weekdays(fields: FormFields) -> Weekdays:
    chosen = fields.wholes("weekday", range(7))
    if not chosen and fields.given("meets"):
        fields.fault("weekday", fields.say("choir.fault.weekday"))
    return Weekdays(days=chosen or _MONDAY_TO_FRIDAY)


def _rotation(fields: FormFields, days_off: frozenset[date]) -> Rotation:
    length = fields.whole("rotation_length", 2, _LONGEST_CYCLE, 2) or 2
    chosen = fields.wholes("rotation_day", range(1, _LONGEST_CYCLE + 1))
    if not chosen:
        fields.fault("rotation_day", fields.say("choir.fault.rotation_day"))
    elif max(chosen) > length:
        fields.fault("rotation_day", fields.say("choir.fault.rotation_days", count=length))
    anchor = fields.day("rotation_anchor", None)
    if anchor is None:
        if not any(fault.place == "rotation_anchor" for fault in fields.faults):
            fields.fault("rotation_anchor", fields.say("choir.fault.anchor"))
    elif anchor.weekday() not in _MONDAY_TO_FRIDAY or anchor in days_off:
        fields.fault("rotation_anchor", fields.say("choir.fault.anchor_off"))
    return Rotation(length=length, meets_on=chosen, anchor=anchor or date.min)


def _meeting_fields(meeting: Meeting) -> dict[str, list[str]]:
    off = {
        "days_off": [write_days_off(meeting.days_off)],
        "short_days": [write_short_days(meeting.short_days)],
    }
    match meeting.pattern:
        case Weekdays(days=days):
            return {"meets": ["weekdays"], "weekday": [str(day) for day in sorted(days)], **off}
        case Rotation(length=length, meets_on=days, anchor=anchor):
            return {
                "meets": ["rotation"],
                "rotation_length": [str(length)],
                "rotation_day": [str(day) for day in sorted(days)],
                "rotation_anchor": [anchor.isoformat()],
                **off,
            }


def _presentation(fields: FormFields) -> Presentation:
    return Presentation(
        solfa=Solfa(
            naming=fields.one_of("naming", Naming, Naming.SYLLABLES),
            fifth=fields.word("fifth", _FIFTHS),
            seventh=fields.word("seventh", _SEVENTHS),
            do_based_minor=fields.yes("do_based_minor", default=False),
        ),
        key_pattern=fields.one_of("key_pattern", KeyPattern, KeyPattern.TRIAD),
        a4_hz=fields.number("a4_hz", 430.0, 450.0, 440.0),
        tempo_bpm=fields.whole("tempo_bpm", 40, 160, None),
        mark_do=fields.yes("mark_do", default=True),
        give_pitch=fields.yes("give_pitch", default=True),
        page=read_page(fields),
        study_s=fields.whole("study_s", *STUDY_S, None),
    )


def _key(fields: FormFields) -> str | None:
    key = fields.parsed("key", Key.parse, None, fields.say("choir.fault.key"))
    return None if key is None else key.plain


def _optional(number: int | None) -> str:
    return "" if number is None else str(number)


def _yes(value: bool) -> str:
    return "yes" if value else "no"
