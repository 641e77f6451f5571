"""One request in, its bytes out: synchronous, the same in the worker and on the command line."""

from __future__ import annotations

from typing import assert_never

from bot.errors import RenderFailed
from bot.media.clip import clip
from bot.media.request import (
    ClipRequest,
    Drone,
    Engraved,
    EngravingRequest,
    KeyGiving,
    Line,
    MediaRequest,
    SoundRequest,
    StartingNote,
)
from bot.media.tone import (
    Samples,
    drone_sound,
    key_sound,
    light_mp3,
    line_sound,
    mp3,
    pitch_sound,
)
from bot.music.exercise import Exercise
from bot.music.page_options import PageOptions
from bot.notation.emptied import emptied
from bot.notation.engrave import EngravingStyle, png, svg
from bot.notation.under import with_options
from bot.notation.write import musicxml


def make(request: MediaRequest) -> bytes:
    """Make the bytes of a request; RenderFailed says what could not be made and why."""
    try:
        match request:
            case SoundRequest():
                return _sound(request)
            case EngravingRequest():
                return _engraving(request)
            case ClipRequest():
                return clip(request)
            case _:
                assert_never(request)
    # The engraver and the encoder have no error tree of their own that could be listed here.
    except Exception as error:
        raise RenderFailed(f"{_name(request)} could not be made: {error}") from error


def _sound(request: SoundRequest) -> bytes:
    samples = _samples(request)
    return light_mp3(samples) if request.light else mp3(samples)


def _samples(request: SoundRequest) -> Samples:
    match request.sound:
        case KeyGiving() as giving:
            return key_sound(
                giving.key,
                giving.do,
                giving.pattern,
                a4_hz=request.a4_hz,
                tempo_bpm=giving.tempo_bpm,
            )
        case StartingNote() as note:
            return pitch_sound(note.pitch, a4_hz=request.a4_hz, seconds=note.seconds)
        case Line() as line:
            return line_sound(line.exercise, a4_hz=request.a4_hz, tempo_bpm=line.tempo_bpm)
        case Drone() as drone:
            return drone_sound(drone.do, a4_hz=request.a4_hz)
        case _:
            assert_never(request.sound)


def _engraving(request: EngravingRequest) -> bytes:
    written = musicxml(
        request.exercise,
        labels=request.labels,
        clefs=request.clefs,
        tempo_bpm=request.tempo_bpm,
    )
    page = request.page
    if request.kind is Engraved.MUSICXML:
        bare = PageOptions(rhythm_only=page.rhythm_only)
        return with_options(written, request.exercise, bare, request.solfa)
    style = EngravingStyle(
        width_px=request.width_px,
        phone=request.phone,
        sheet=request.sheet,
        mark_do=request.mark_do and not page.rhythm_only,
        do_name=request.do_name,
        do_is_tonic=request.do_is_tonic,
        measure_numbers=request.measure_numbers and page.measure_numbers,
        large=page.large,
        one_a_line=page.one_a_line,
    )
    drawing = svg(with_options(written, request.exercise, page, request.solfa), style)
    if request.emptied:
        drawing = emptied(drawing, request.exercise, request.emptied)
    match request.kind:
        case Engraved.SVG:
            return drawing.encode()
        case Engraved.PNG:
            return png(drawing, request.width_px)
        case _:
            assert_never(request.kind)


def _name(request: MediaRequest) -> str:
    """What a request is for, without any text that a person typed."""
    if isinstance(request, ClipRequest):
        return f"the clip of a line in {request.exercise.key}"
    wanted = request.exercise if isinstance(request, EngravingRequest) else request.sound
    match wanted:
        case KeyGiving():
            return f"the sound of {wanted.key} from {wanted.do}"
        case StartingNote():
            return f"the sound of {wanted.pitch}"
        case Line():
            return f"the sound of a line in {wanted.exercise.key}"
        case Drone():
            return f"a drone on {wanted.do}"
        case Exercise():
            return f"the picture of a line in {wanted.key}"
        case _:
            assert_never(wanted)
