"""What a MIDI file holds, as plain values: notes by track, signatures, where the tracks end."""

from __future__ import annotations

import io
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from mido import MidiFile, MidiTrack
from mido.midifiles.meta import KeySignatureError

from bot.errors import Fault, InputProblems
from bot.notation.midi_words import Lyric, text_of

LIMIT_BYTES = 2 * 1024 * 1024
_MOST_EVENTS = 50_000
_DRUMS = 9  # the channel of General MIDI that has no pitches
_MOST_TICKS = 32_767  # of a quarter; above it the file counts in film frames


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike:
    """A key held down, times in whole notes."""

    onset: Fraction
    end: Fraction
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """A time signature and when it begins."""

    at: Fraction
    beats: int
    unit: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MidiEvents:
    """All of a file that notation can use; `keys` in the order of the file, such as `Ebm`.

    `lyrics` has for each line the words of its track, or those of all tracks where there is one
    line and its own track has none.
    """

    lines: tuple[tuple[Strike, ...], ...]
    lyrics: tuple[tuple[Lyric, ...], ...]
    metres: tuple[Signature, ...]
    keys: tuple[str, ...]
    end: Fraction


def read_events(data: bytes, file: str) -> MidiEvents:
    """Read a MIDI file of kind 0 or 1 and at most 2 MiB; InputProblems says what is wrong with it.

    A line is a track, and within a track a channel, with its notes by onset.
    """
    if len(data) > LIMIT_BYTES:
        raise InputProblems([Fault(place=file, problem="the file is larger than 2 MiB")])
    try:
        midi = MidiFile(file=io.BytesIO(data))
    except (OSError, EOFError, ValueError, LookupError, TypeError, KeySignatureError) as error:
        raise InputProblems([_no_midi(file)]) from error
    if midi.type == 2 or not 0 < midi.ticks_per_beat <= _MOST_TICKS:
        problem = "it keeps time in a way that has no measures"
        remedy = "save it as a MIDI file of kind 0 or 1"
        raise InputProblems([Fault(place=file, problem=problem, remedy=remedy)])
    if sum(len(track) for track in midi.tracks) > _MOST_EVENTS:
        problem = f"it has more than {_MOST_EVENTS} events"
        raise InputProblems([Fault(place=file, problem=problem, remedy="cut out the passage")])
    return _events(midi)


def _no_midi(file: str) -> Fault:
    return Fault(
        place=file, problem="it is not a MIDI file, or a damaged one", remedy="save it again"
    )


def _events(midi: MidiFile) -> MidiEvents:
    whole = 4 * midi.ticks_per_beat
    lines: list[tuple[Strike, ...]] = []
    lyrics: list[tuple[Lyric, ...]] = []
    metres: list[Signature] = []
    keys: list[tuple[int, str]] = []
    end = 0
    for track in midi.tracks:
        now = 0
        for message in track:
            now += message.time
            if message.type == "time_signature":
                at = Fraction(now, whole)
                beats, unit = message.numerator, message.denominator
                metres.append(Signature(at=at, beats=beats, unit=unit))
            elif message.type == "key_signature":
                keys.append((now, message.key))
        end = max(end, now)
        found = [line for line in _lines(track, whole).values() if line]
        lines += found
        lyrics += [tuple(_lyrics(track, whole))] * len(found)
    if len(lines) == 1 and not lyrics[0]:
        lyrics = [tuple(each for track in midi.tracks for each in _lyrics(track, whole))]
    return MidiEvents(
        lines=tuple(lines),
        lyrics=tuple(lyrics),
        metres=tuple(sorted(metres, key=lambda metre: metre.at)),
        keys=tuple(key for _, key in sorted(keys, key=lambda key: key[0])),
        end=Fraction(end, whole),
    )


def _lines(track: MidiTrack, whole: int) -> Mapping[int, tuple[Strike, ...]]:
    """Return a track's notes by channel; a key struck again while it is down begins a new note."""
    found: dict[int, list[Strike]] = defaultdict(list)
    down: dict[tuple[int, int], int] = {}
    now = 0

    def lift(channel: int, number: int) -> None:
        begun = down.pop((channel, number), None)
        if begun is not None and begun < now:
            onset, end = Fraction(begun, whole), Fraction(now, whole)
            found[channel].append(Strike(onset=onset, end=end, number=number))

    for message in track:
        now += message.time
        if message.type not in ("note_on", "note_off") or message.channel == _DRUMS:
            continue
        lift(message.channel, message.note)
        if message.type == "note_on" and message.velocity:
            down[message.channel, message.note] = now
    for channel, number in list(down):
        lift(channel, number)
    return {
        channel: tuple(sorted(strikes, key=lambda strike: (strike.onset, strike.number)))
        for channel, strikes in sorted(found.items())
    }


def _lyrics(track: MidiTrack, whole: int) -> Iterator[Lyric]:
    now = 0
    for message in track:
        now += message.time
        if message.type == "lyrics":
            yield Lyric(at=Fraction(now, whole), text=text_of(message.text))
