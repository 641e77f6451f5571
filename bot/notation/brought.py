"""Music from outside in whatever way it is written: MusicXML, ABC, MIDI, tonic sol-fa letters."""

from __future__ import annotations

import re
from dataclasses import dataclass

from bot.errors import Fault, InputProblems
from bot.music.exercise import Exercise
from bot.music.letters import Dialect
from bot.music.pitch import Key, Mode
from bot.music.tonicsolfa import exercise_from_tonicsolfa
from bot.notation.abc import exercise_from_abc
from bot.notation.midi import music_from_midi
from bot.notation.read import LeftOut, music_from_musicxml
from bot.notation.written import as_written

KINDS = (".musicxml", ".xml", ".mxl", ".abc", ".mid", ".midi", ".txt")  # that a page offers
LIMIT_BYTES = 2 * 1024 * 1024
_ABC = re.compile(r"^(X|K|M|L|T):", re.MULTILINE)
_ABC_WORDS = re.compile(r"^w:", re.MULTILINE)
_ABC_TITLE = re.compile(r"^T:(.*)$", re.MULTILINE)
_TITLE = 80
_WORDS_LOST = ("formats.words",)
_ONCE_THROUGH = ("formats.repeats",)
_OTHER_LETTERS = ("formats.letters.dialect",)
_COMMAS = ("formats.letters.comma",)
_LOW_BY_COMMA = re.compile(r"[drmfslt],(?=\s*[|!:])", re.IGNORECASE)  # the rest of the pulse silent
_SO = 4  # scale steps above do


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """An exercise from a file or a box; `title` is empty where there is none.

    `notices` are keys of sentences that whoever brought it should know.
    """

    exercise: Exercise
    title: str = ""
    notices: tuple[str, ...] = ()


def is_midi(data: bytes) -> bool:
    """Whether a file is MIDI, whose spelling is a guess."""
    return data.startswith(b"MThd")


def read_music(
    data: bytes, file: str, *, dialect: Dialect = Dialect.MODERN, key: Key | None = None
) -> Brought:
    """Read music by what its bytes look like, whatever the file is called.

    `dialect` names the chromatic tones of sol-fa letters, `key` the key of MIDI that names none or
    a wrong one; other music states its own. InputProblems lists every fault.
    """
    if len(data) > LIMIT_BYTES:
        remedy = "cut out the passage to be read"
        raise InputProblems([Fault(place=file, problem="it is over 2 MiB", remedy=remedy)])
    if is_midi(data):
        midi = music_from_midi(data, file, key=key)
        return Brought(exercise=as_written(midi.exercise), notices=midi.notices)
    start = data[:200].lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n\0")
    if start.startswith((b"<", b"PK\x03\x04")) or not data.strip():
        music = music_from_musicxml(data, file)
        words = _WORDS_LOST if LeftOut.WORDS in music.left_out else ()
        once = _ONCE_THROUGH if LeftOut.REPEATS in music.left_out else ()
        return Brought(exercise=music.exercise, title=music.title, notices=words + once)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        problem = "it is neither MusicXML, ABC, MIDI nor text"
        raise InputProblems(
            [Fault(place=file, problem=problem, remedy="save it as MusicXML")]
        ) from error
    return read_written(text, file, dialect=dialect)


def read_written(text: str, file: str, *, dialect: Dialect = Dialect.MODERN) -> Brought:
    """Read music that was typed: ABC where it has a field such as K:, or its file's name says so.

    All else is read as sol-fa letters.

    Faults in letters name line and column; InputProblems lists them all.
    """
    if _ABC.search(text) or file.lower().endswith(".abc"):
        title = _ABC_TITLE.search(text)
        named = " ".join(title[1].split())[:_TITLE] if title else ""
        exercise = exercise_from_abc(text, file)
        lost = _ABC_WORDS.search(text) and not all(part.words for part in exercise.parts)
        return Brought(exercise=exercise, title=named, notices=_WORDS_LOST if lost else ())
    # Letters hold on over a bar line without a sign for it; what is needed for that is a tie.
    exercise = as_written(exercise_from_tonicsolfa(text, dialect=dialect))
    bent = dialect is Dialect.MODERN and _lowered_so(exercise)
    notices = _OTHER_LETTERS if bent else ()
    return Brought(
        exercise=exercise, notices=notices + (_COMMAS if _LOW_BY_COMMA.search(text) else ())
    )


def _lowered_so(exercise: Exercise) -> bool:
    """Whether a line in minor has a lowered so, which songs hardly do: se raises so in Curwen's."""
    tones = [tone for part in exercise.parts for tone in part.tones()]
    minor = exercise.key.mode is Mode.MINOR
    return minor and any(tone.step % 7 == _SO and tone.alter < 0 for tone in tones)
