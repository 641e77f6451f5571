"""An exercise as JSON and back: versioned, strict, every fault at once.

    {"version": 2, "key": "Eb", "metre": "4/4", "pickup": "0",
     "parts": [{"do_octave": 4, "notes": "0:1/4 1:1/8 3+1:1/8~ 3+1:1/4 r:1/4",
                "words": "Lan- terns glow."}]}

A note is `tone:duration`: the tone in scale steps above do with its alteration in semitones, or `r`
for a rest; the duration in whole notes; `~` where it is tied to the next. Words came with version
2, one text for each note that is struck; an exercise without words is written as version 1.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import TypeVar

from bot.errors import Fault, InputProblems
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key
from bot.music.rhythm import Metre

_T = TypeVar("_T")

VERSION, _WORDLESS = 2, 1
_FIELDS = {"version", "key", "metre", "pickup", "parts"}
_NOTE = re.compile(r"(?:r|(-?\d{1,3})([+-]\d)?):(\d{1,4}(?:/\d{1,4})?)(~?)")
_FRACTION = re.compile(r"\d{1,4}(/[1-9]\d{0,3})?")


def exercise_to_json(exercise: Exercise) -> str:
    """Write an exercise on one line; equal exercises give equal text."""
    metre = f"{exercise.metre} cut" if exercise.metre.cut else str(exercise.metre)
    parts = [
        {"do_octave": part.do_octave, "notes": " ".join(_note_text(note) for note in part.notes)}
        | ({"words": " ".join(part.words)} if part.words else {})
        for part in exercise.parts
    ]
    tree = {
        "version": VERSION if any(part.words for part in exercise.parts) else _WORDLESS,
        "key": exercise.key.plain,
        "metre": metre,
        "pickup": str(exercise.pickup),
        "parts": parts,
    }
    return json.dumps(tree, separators=(",", ":"))


def exercise_from_json(text: str) -> Exercise:
    """Read what `exercise_to_json` wrote; InputProblems lists everything that is wrong with it."""
    try:
        tree = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        raise InputProblems([Fault(place="exercise", problem=f"no JSON: {error}")]) from error
    faults: list[Fault] = []
    if not isinstance(tree, dict) or set(tree) != _FIELDS:
        names = ", ".join(sorted(_FIELDS))
        raise InputProblems([Fault(place="exercise", problem=f"needs exactly the fields {names}")])
    if tree["version"] not in (_WORDLESS, VERSION) or isinstance(tree["version"], bool):
        problem = f"version {tree['version']!r}: this release reads versions 1 to {VERSION}"
        raise InputProblems([Fault(place="exercise", problem=problem)])
    key = _read(tree, "key", faults, Key.parse)
    metre = _read(tree, "metre", faults, _metre)
    pickup = _read(tree, "pickup", faults, _fraction)
    parts = _parts(tree["parts"], faults, words=tree["version"] == VERSION)
    if faults or key is None or metre is None or pickup is None:
        raise InputProblems(faults)
    try:
        return Exercise(key=key, metre=metre, parts=parts, pickup=pickup)
    except ValueError as error:
        raise InputProblems([Fault(place="exercise", problem=str(error))]) from error


def _read(
    tree: Mapping[str, object], name: str, faults: list[Fault], parse: Callable[[str], _T]
) -> _T | None:
    value = tree[name]
    try:
        if not isinstance(value, str):
            raise ValueError(f"{value!r} is no text")
        return parse(value)
    except ValueError as error:
        faults.append(Fault(place=name, problem=str(error)))
        return None


def _metre(text: str) -> Metre:
    plain, _, cut = text.partition(" ")
    if cut not in ("", "cut"):
        raise ValueError(f"{text!r} is no metre: write for example 4/4 or 2/2 cut")
    metre = Metre.parse(plain)
    return replace(metre, cut=bool(cut))


def _fraction(text: str) -> Fraction:
    if not _FRACTION.fullmatch(text):
        raise ValueError(f"{text!r} is no length in whole notes: write for example 1/4")
    return Fraction(text)


def _parts(value: object, faults: list[Fault], *, words: bool) -> tuple[Part, ...]:
    if not isinstance(value, list):
        faults.append(Fault(place="parts", problem="is no list"))
        return ()
    return tuple(
        _part(row, f"part {number}", faults, words=words)
        for number, row in enumerate(value, start=1)
    )


def _part(row: object, place: str, faults: list[Fault], *, words: bool) -> Part:
    may = {"words"} if words else set()
    if not isinstance(row, dict) or set(row) - may != {"do_octave", "notes"}:
        faults.append(Fault(place=place, problem="needs exactly do_octave and notes"))
        return Part(notes=())
    octave, notes = row["do_octave"], row["notes"]
    if not isinstance(octave, int) or isinstance(octave, bool) or not -1 <= octave <= 9:
        faults.append(Fault(place=place, problem=f"do_octave {octave!r} is none of -1 to 9"))
        octave = 4
    if not isinstance(notes, str):
        faults.append(Fault(place=place, problem="notes is no text"))
        notes = ""
    read = []
    for number, token in enumerate(notes.split(), start=1):
        try:
            read.append(_note(token))
        except ValueError as error:
            faults.append(Fault(place=f"{place}, note {number}", problem=str(error)))
    return _worded(Part(notes=tuple(read), do_octave=octave), row.get("words", ""), place, faults)


def _worded(part: Part, words: object, place: str, faults: list[Fault]) -> Part:
    if not isinstance(words, str):
        faults.append(Fault(place=place, problem="words is no text"))
        return part
    try:
        return replace(part, words=tuple(words.split()))
    except ValueError as error:
        faults.append(Fault(place=place, problem=str(error)))
        return part


def _note(token: str) -> Note:
    match = _NOTE.fullmatch(token)
    if match is None or match[3].endswith("/0"):
        raise ValueError(f"{token!r} is no note: write for example 0:1/4, 3+1:1/8~ or r:1/2")
    step, alter, duration, tie = match.groups()
    tone = None if step is None else Tone(step=int(step), alter=int(alter or 0))
    return Note(duration=_fraction(duration), tone=tone, tied=bool(tie))


def _note_text(note: Note) -> str:
    if note.tone is None:
        return f"r:{note.duration}"
    alter = f"{note.tone.alter:+d}" if note.tone.alter else ""
    return f"{note.tone.step}{alter}:{note.duration}{'~' if note.tied else ''}"
