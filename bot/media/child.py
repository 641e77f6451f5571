"""What the media process runs: load everything once, then one request after the other."""

from __future__ import annotations

import os
import signal
import sys
from fractions import Fraction
from multiprocessing.connection import Connection

from bot.errors import RenderFailed
from bot.media.render import make
from bot.media.request import Engraved, EngravingRequest, MediaRequest, SoundRequest, StartingNote
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key, Pitch
from bot.music.rhythm import Metre
from bot.music.voice import Clef

_NICENESS = 10  # a tap on the board goes before a picture for tomorrow


def serve(pipe: Connection) -> None:
    """Answer requests until the pipe closes. None asks only that everything is loaded."""
    # An interrupt from the keyboard and a stop from the system reach the whole group; the server
    # decides what they mean, and closes the pipe.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    if sys.platform != "win32":
        os.nice(_NICENESS)
    while True:
        try:
            pipe.send(_answer(pipe.recv()))
        except (EOFError, OSError):
            return


def _answer(request: MediaRequest | None) -> bytes | RenderFailed:
    try:
        return _warm_up() if request is None else make(request)
    except RenderFailed as failure:
        return RenderFailed(str(failure))  # without the library's own error, which may not travel


def _warm_up() -> bytes:
    """Make a picture and a sound, so that the libraries have read their fonts and tables."""
    note = Note(duration=Fraction(1), tone=Tone(step=0))
    line = Exercise(key=Key(fifths=0), metre=Metre(), parts=(Part(notes=(note,)),))
    make(EngravingRequest(exercise=line, clefs=(Clef.TREBLE,), kind=Engraved.PNG, width_px=320))
    make(SoundRequest(sound=StartingNote(pitch=Pitch.parse("A4"))))
    return b""
