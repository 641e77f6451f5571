"""ABC (standard 2.1) read as an exercise; every fault at once with line and column.

Read are X T M L K, major and minor, notes with octaves and lengths, accidentals, broken rhythm,
ties, rests, bar lines, pickups, simple repeats with two endings, up to three voices (V), and words
(w) where every note of a voice has a syllable. Further verses, slurs, grace notes, ornaments and
chord symbols are left out; what would change the line itself and cannot be read (tuplets, chords, a
change of key or metre) is a fault.

No library does this as a director needs it: music21's reader tells no place of a fault and drops
what it does not know, and its writer writes an object's name.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from bot.errors import Fault, InputProblems
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.spot import Spot
from bot.notation.abc_piece import Line, barred, unfolded
from bot.notation.abc_reader import MOST_MEASURES, Reader
from bot.notation.lying import do_octave

MOST_CHARACTERS = 100_000
_PARTS = 3


def exercise_from_abc(text: str, file: str = "ABC") -> Exercise:
    """Read one tune; InputProblems lists every fault with file, line and column."""
    faults: list[Fault] = []
    if len(text) > MOST_CHARACTERS:
        problem = f"it has more than {MOST_CHARACTERS} characters"
        raise InputProblems([Fault(place=file, problem=problem, remedy="keep one tune")])
    reader = Reader(faults=faults)
    for number, line in enumerate(text.removeprefix("\ufeff").splitlines(), start=1):
        reader.line(line, number)
    exercise = _exercise(reader, faults)
    if exercise is None or faults:
        told = dict.fromkeys(faults)
        raise InputProblems(
            Fault(place=f"{file}, {each.place}", problem=each.problem, remedy=each.remedy)
            for each in told
        )
    return exercise


def _exercise(reader: Reader, faults: list[Fault]) -> Exercise | None:
    """Put the voices together, or note why they do not go together."""
    begin = Spot(line=1, column=1)
    key, metre = reader.key, reader.metre
    if key is None or metre is None:
        faults.append(begin.fault("no key is stated", "the header ends with K:, as K:F"))
        return None
    voices = [voice for voice in reader.in_order() if voice.finished()]
    if len(voices) > _PARTS:
        faults.append(voices[_PARTS].pieces[0].spot.fault("a fourth voice", "three at the most"))
    lines = [barred(unfolded(voice.pieces, faults), metre, faults) for voice in voices]
    faults += _disagreements(lines, metre)
    if not any(note.pitch for line in lines for note in line.notes):
        faults.append(begin.fault("there are no notes", "they follow K:"))
    if faults:
        return None
    parts = tuple(_part(line, key, voice.texts) for line, voice in zip(lines, voices, strict=True))
    return Exercise(key=key, metre=metre, parts=parts, pickup=lines[0].pickup)


def _disagreements(lines: Sequence[Line], metre: Metre) -> Iterator[Fault]:
    for line in lines[1:]:
        if (line.length, line.pickup) != (lines[0].length, lines[0].pickup):
            yield line.notes[0].spot.fault(
                f"this voice lasts {line.length / metre.measure} measures, pickup and all",
                f"the first voice lasts {lines[0].length / metre.measure}, with the same pickup",
            )
    for line in lines[:1]:
        if line.length > MOST_MEASURES * metre.measure:
            problem = f"more than {MOST_MEASURES} measures, repeats written out"
            yield line.notes[0].spot.fault(problem, "cut out the passage to be read")


def _part(line: Line, key: Key, texts: Mapping[Spot, str]) -> Part:
    pitches = [note.pitch for note in line.notes if note.pitch is not None]
    octave = do_octave(pitches, key) if pitches else 4
    notes, words, held = list[Note](), list[str](), False
    for note in line.notes:
        tone = None
        if note.pitch is not None:
            step, alter = key.step_of(note.pitch, octave)
            tone = Tone(step=step, alter=alter)
            words += [] if held else [texts.get(note.spot, "")]
        held = note.tied
        notes.append(Note(duration=note.duration, tone=tone, tied=note.tied))
    return Part(notes=tuple(notes), do_octave=octave, words=tuple(words) if all(words) else ())
