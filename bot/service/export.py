"""An exercise as it can be taken along: written music, pictures, letters, braille, text."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import assert_never

from bot.activities.tempo import reading_tempo_bpm
from bot.media.request import Engraved, EngravingRequest
from bot.music.exercise import Exercise
from bot.music.page_options import PageOptions
from bot.music.solfa import Naming, Solfa
from bot.music.tonicsolfa_write import exercise_to_tonicsolfa
from bot.music.voice import Clef
from bot.notation.abc_write import exercise_to_abc
from bot.notation.braille import brf
from bot.notation.midi_write import midi
from bot.notation.pdf import pdf
from bot.notation.words import describe
from bot.wording import Wording


class Format(StrEnum):
    """A way of taking music along, by the ending of its file."""

    MUSICXML = "musicxml"
    MIDI = "mid"
    ABC = "abc"
    LETTERS = "letters.txt"  # tonic sol-fa
    BRAILLE = "brf"
    TEXT = "txt"  # told note by note
    SVG = "svg"
    PNG = "png"
    PDF = "pdf"


TYPES = {
    Format.MUSICXML: "application/vnd.recordare.musicxml+xml",
    Format.MIDI: "audio/midi",
    Format.ABC: "text/vnd.abc; charset=utf-8",
    Format.LETTERS: "text/plain; charset=utf-8",
    Format.BRAILLE: "text/plain; charset=us-ascii",
    Format.TEXT: "text/plain; charset=utf-8",
    Format.SVG: "image/svg+xml",
    Format.PNG: "image/png",
    Format.PDF: "application/pdf",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """What is taken along: the music, its clefs and labels (none for one part), how it is shown."""

    exercise: Exercise
    clefs: tuple[Clef, ...]
    labels: tuple[str, ...] = ()
    title: str = ""
    options: PageOptions = field(default_factory=PageOptions)
    solfa: Solfa = field(default_factory=Solfa)
    mark_do: bool = True
    tempo_bpm: int | None = None


def request_for(page: Page, kind: Format) -> EngravingRequest | None:
    """What the engraver has to make for a format, None where it needs nothing of it."""
    request = picture_request(page)
    match kind:
        case Format.MUSICXML:
            tempo = page.tempo_bpm or reading_tempo_bpm(page.exercise, None)
            return replace(request, kind=Engraved.MUSICXML, tempo_bpm=tempo)
        case Format.SVG:
            return replace(request, kind=Engraved.SVG)
        case Format.PDF:
            return replace(request, kind=Engraved.SVG, sheet=True)
        case Format.PNG:
            return request
        case Format.MIDI | Format.ABC | Format.LETTERS | Format.BRAILLE | Format.TEXT:
            return None
    assert_never(kind)


def export(page: Page, kind: Format, say: Wording, drawn: bytes | None) -> bytes:
    """The bytes of one format; `drawn` is what `request_for` made of the page.

    Slow enough for a thread. Refused names the place that letters or MIDI cannot hold.
    """
    exercise = page.exercise
    match kind:
        case Format.MUSICXML | Format.SVG | Format.PNG:
            assert drawn is not None
            return drawn
        case Format.PDF:
            assert drawn is not None
            return pdf([drawn.decode()], title=page.title)
        case Format.MIDI:
            return midi(exercise, tempo_bpm=page.tempo_bpm or reading_tempo_bpm(exercise, None))
        case Format.ABC:
            return exercise_to_abc(exercise, title=page.title).encode()
        case Format.LETTERS:
            return exercise_to_tonicsolfa(exercise).encode()
        case Format.BRAILLE:
            return brf(exercise, title=page.title, labels=page.labels).encode("ascii")
        case Format.TEXT:
            parts = range(len(exercise.parts))
            bare = page.options.rhythm_only
            told = [describe(exercise, page.solfa, say, n, rhythm_only=bare) for n in parts]
            if page.labels:
                named = zip(page.labels, told, strict=True)
                told = [say("companion.part", label=label, text=text) for label, text in named]
            return "".join(f"{each}\n" for each in told).encode()
    assert_never(kind)


def picture_request(page: Page) -> EngravingRequest:
    """The request for the picture of a page."""
    numbers = page.solfa.naming is Naming.NUMBERS
    return EngravingRequest(
        exercise=page.exercise,
        clefs=page.clefs,
        labels=page.labels,
        mark_do=page.mark_do,
        do_name="1" if numbers else "do",
        do_is_tonic=numbers or page.solfa.do_based_minor,
        page=page.options,
        solfa=page.solfa,
    )
