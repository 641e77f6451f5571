"""A reading that belongs to no choir: one exercise for one voice, as six files in a folder."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from bot.activities.tempo import reading_tempo_bpm
from bot.errors import Fault, InputProblems
from bot.media.render import make
from bot.media.request import (
    Engraved,
    EngravingRequest,
    KeyGiving,
    MediaRequest,
    SoundRequest,
    StartingNote,
)
from bot.music.composer import compose
from bot.music.exercise import Exercise
from bot.music.level import level_of
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.solfa import Solfa
from bot.music.turns import Turn, turned
from bot.music.variants import together
from bot.music.voice import DEFAULT_RANGES, Clef, Voice
from bot.notation.words import describe
from bot.service.content import Content
from bot.service.voices_form import DEFAULT_CLEFS


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What to compose: step ids, a voice, and wishes that may stay open (None)."""

    steps: Sequence[str]
    voice: Voice
    key: str | None = None
    metre: str | None = None
    measures: int | None = None
    seed: int = 0
    sequence: str = "steps-first"
    turn: Turn | None = None


def compose_loose(wish: Wish, content: Content) -> Exercise:
    """Compose one line; InputProblems or NoExercise say why not."""
    faults: list[Fault] = []
    key = metre = None
    try:
        key = Key.parse(wish.key) if wish.key else None
    except ValueError as error:
        faults.append(Fault(place="--key", problem=str(error)))
    try:
        metre = Metre.parse(wish.metre) if wish.metre else None
    except ValueError as error:
        faults.append(Fault(place="--metre", problem=str(error)))
    try:
        level = level_of(content.sequences[wish.sequence], wish.steps)
    except InputProblems as problems:
        faults += problems.faults
    if faults:
        raise InputProblems(faults)
    limits = (DEFAULT_RANGES[wish.voice],)
    placement = together(level, limits, key)
    line = compose(level, placement, limits, metre=metre, measures=wish.measures, seed=wish.seed)
    return turned(line, wish.turn) if wish.turn else line


def write_reading(exercise: Exercise, voice: Voice, content: Content, folder: Path) -> list[Path]:
    """Write picture, music, sounds and text alternative into a folder; the files' paths.

    `pitch.mp3` holds the starting note alone. Files of the same names are written over.
    """
    folder.mkdir(parents=True, exist_ok=True)
    text = describe(exercise, Solfa(), content.wording) + "\n"
    made: dict[str, bytes] = {
        name: make(request) for name, request in _requests(exercise, DEFAULT_CLEFS[voice]).items()
    }
    made["reading.txt"] = text.encode()
    for name, data in made.items():
        (folder / name).write_bytes(data)
    return [folder / name for name in made]


def _requests(exercise: Exercise, clef: Clef) -> Mapping[str, MediaRequest]:
    tempo = reading_tempo_bpm(exercise, None)
    key = exercise.key
    return {
        "reading.png": EngravingRequest(exercise=exercise, clefs=(clef,)),
        "reading.svg": EngravingRequest(exercise=exercise, clefs=(clef,), kind=Engraved.SVG),
        "reading.musicxml": EngravingRequest(
            exercise=exercise, clefs=(clef,), kind=Engraved.MUSICXML, tempo_bpm=tempo
        ),
        "key.mp3": SoundRequest(
            sound=KeyGiving(
                key=key, do=key.pitch(0, 0, exercise.parts[0].do_octave), tempo_bpm=tempo
            )
        ),
        "pitch.mp3": SoundRequest(sound=StartingNote(pitch=exercise.first_pitch())),
    }
