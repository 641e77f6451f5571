"""A MIDI file read as an exercise: keys held down become notes, spelled as the key suggests.

MIDI has no letters, no rests and no ties, so what comes out is a guess that a director should look
at: `notices` says so. Times that lie exactly on thirty-seconds are kept; all others are moved to
the nearest sixteenth, and short gaps before the next note are closed, as players leave them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from bot.errors import Fault, InputProblems
from bot.music.exercise import Exercise, Part, Tone
from bot.music.pitch import Key, Pitch
from bot.music.rhythm import SIXTEENTH, Metre, place
from bot.music.span import Span, notes_of
from bot.notation.faults import mixed
from bot.notation.lying import do_octave
from bot.notation.midi_events import MidiEvents, Strike, read_events
from bot.notation.midi_words import words_at

_PARTS = 3
_MEASURES = 128
_EXACT = SIXTEENTH / 2
_UNITS = (1, 2, 4, 8, 16)
_SCALE = {0: 0, 2: 1, 4: 2, 5: 3, 7: 4, 9: 5, 11: 6}  # semitones above do: scale step
# Usual names where the next tone does not decide: di, me, fi, si, te.
_USUAL = {1: 1, 3: -1, 6: 1, 8: 1, 10: -1}


@dataclass(frozen=True, slots=True, kw_only=True)
class MidiMusic:
    """An exercise from MIDI, and the wording keys of what its director should know."""

    exercise: Exercise
    notices: tuple[str, ...]


def music_from_midi(data: bytes, file: str, *, key: Key | None = None) -> MidiMusic:
    """Read a file of at most 2 MiB; `key` says the key where the file names none or a wrong one.

    A pickup is a shorter first time signature that the next one ends. InputProblems lists every
    fault, with measure and beat where it has one.
    """
    events = read_events(data, file)
    faults: list[Fault] = []
    key = key or _key(events, file, faults)
    metre, pickup = _metre(events, file, faults)
    if not events.lines:
        faults.append(Fault(place=file, problem="it has no notes"))
    if len(events.lines) > _PARTS:
        problem = f"it has {len(events.lines)} lines of notes"
        remedy = f"leave {_PARTS} tracks at most, one line each"
        faults.append(Fault(place=file, problem=problem, remedy=remedy))
    grid = _grid(events)
    lines = [_line(line, grid, metre, pickup, faults) for line in events.lines]
    length = _length(lines, events, metre, pickup)
    if length > _MEASURES * metre.measure:
        problem = f"it has more than {_MEASURES} measures"
        faults.append(Fault(place=file, problem=problem, remedy="cut out the passage"))
    if faults or key is None:
        raise InputProblems(faults)
    parts = tuple(
        replace(_part(line, key, metre, pickup, length), words=words)
        for line, words in zip(lines, _words(events), strict=True)
    )
    moved = ("formats.midi.moved",) if grid == SIXTEENTH else ()
    lost = any(events.lyrics) and not all(part.words for part in parts)
    return MidiMusic(
        exercise=Exercise(key=key, metre=metre, parts=parts, pickup=pickup),
        notices=("formats.midi.spelling", *moved, *(("formats.words",) if lost else ())),
    )


def _words(events: MidiEvents) -> Iterator[tuple[str, ...]]:
    """The words of each line, empty where not every note has a text."""
    for line, lyrics in zip(events.lines, events.lyrics, strict=True):
        yield words_at([strike.onset for strike in line], lyrics)


def _key(events: MidiEvents, file: str, faults: list[Fault]) -> Key | None:
    keys = set(events.keys)
    if not keys:
        remedy = "name it: `check --key F`, or at the desk under Look at music"
        faults.append(Fault(place=file, problem="it names no key", remedy=remedy))
    elif len(keys) > 1:
        remedy = "cut the music into readings of one key each"
        faults.append(Fault(place=file, problem="the key changes", remedy=remedy))
    else:
        return Key.parse(events.keys[0])
    return None


def _metre(events: MidiEvents, file: str, faults: list[Fault]) -> tuple[Metre, Fraction]:
    """Return metre and pickup; 4/4 where the file says nothing, as the MIDI standard has it."""
    stated = [Metre(beats=each.beats, unit=each.unit) for each in events.metres] or [Metre()]
    first = stated[0].measure
    if len(stated) > 1 and events.metres[1].at == first < stated[1].measure:
        stated, pickup = stated[1:], first
    else:
        pickup = Fraction(0)
    metre = stated[0]
    if len(set(stated)) > 1:
        remedy = "cut the music into readings of one meter each"
        faults.append(Fault(place=file, problem="the meter changes", remedy=remedy))
    if metre.unit not in _UNITS or metre.beats < 1:
        faults.append(Fault(place=file, problem=f"the meter {metre}", remedy="use 4/4, 6/8 or so"))
        metre = Metre()
    return metre, pickup


def _grid(events: MidiEvents) -> Fraction:
    times = (time for line in events.lines for each in line for time in (each.onset, each.end))
    return SIXTEENTH if any(time % _EXACT for time in times) else _EXACT


def _line(
    strikes: Sequence[Strike],
    grid: Fraction,
    metre: Metre,
    pickup: Fraction,
    faults: list[Fault],
) -> list[Strike]:
    """Move a line onto the grid, one note after the other."""
    moved = [
        Strike(onset=onset, end=max(_near(each.end, grid), onset + grid), number=each.number)
        for each in strikes
        for onset in (_near(each.onset, grid),)
    ]
    line = []
    for each, after in pairwise(moved):
        if each.onset == after.onset:
            measure, beat = place(each.onset, metre, pickup)
            spot = f"measure {measure}, beat {mixed(beat)}"
            remedy = "one line a track, one note at a time"
            faults.append(Fault(place=spot, problem="two notes at once", remedy=remedy))
        gap = after.onset - each.end
        close = gap < 0 or (grid == SIXTEENTH and gap <= grid)
        end = after.onset if close else each.end
        line.append(Strike(onset=each.onset, end=end, number=each.number))
    return [*line, *moved[-1:]]


def _near(time: Fraction, grid: Fraction) -> Fraction:
    """Round to the grid, halves upwards."""
    return (time / grid + Fraction(1, 2)) // 1 * grid


def _length(
    lines: Sequence[Sequence[Strike]], events: MidiEvents, metre: Metre, pickup: Fraction
) -> Fraction:
    """Return the whole length: as the file ends, if at a bar line, or else up to the next one.

    The last measure may make up for the pickup.
    """
    ends = (Fraction(0), -pickup % metre.measure)
    sounds = max((each.end for line in lines for each in line), default=pickup)
    if events.end >= max(sounds, pickup + _EXACT) and (events.end - pickup) % metre.measure in ends:
        return events.end
    full = max(-((pickup - sounds) // metre.measure), 1) * metre.measure + pickup
    return full - pickup if pickup and sounds <= full - pickup else full


def _part(
    line: Sequence[Strike], key: Key, metre: Metre, pickup: Fraction, length: Fraction
) -> Part:
    pitches = _spelled([each.number for each in line], key)
    octave = do_octave(pitches, key)
    spans = []
    for each, pitch in zip(line, pitches, strict=True):
        step, alter = key.step_of(pitch, octave)
        tone = Tone(step=step, alter=alter)
        spans.append(Span(onset=each.onset, end=each.end, tone=tone))
    lead = metre.measure - pickup
    return Part(notes=notes_of(spans, Fraction(0), length, metre, lead), do_octave=octave)


def _spelled(numbers: Sequence[int], key: Key) -> list[Pitch]:
    """Spell keys of the keyboard in a musical key: altered tones lean towards the next tone."""
    pitches = []
    for index, number in enumerate(numbers):
        after = next((each for each in numbers[index + 1 :] if each != number), number)
        pitches.append(_spell(number, after, key))
    return pitches


def _spell(number: int, after: int, key: Key) -> Pitch:
    semitones = (number - key.pitch(0, 0, 4).midi) % 12
    alter = 0
    if semitones not in _SCALE:
        alter = after - number if abs(after - number) == 1 else _USUAL[semitones]
    step = _SCALE[(semitones - alter) % 12]
    plain = key.pitch(step, alter, 4)
    return key.pitch(step, alter, 4 + (number - plain.midi) // 12)
