"""Sounds, and the way of a picture or sound through the worker and the cache."""

from __future__ import annotations

import asyncio
import re
import tempfile
from fractions import Fraction
from pathlib import Path

from bot.media.cache import MediaCache
from bot.media.render import make
from bot.media.request import (
    Engraved,
    EngravingRequest,
    KeyGiving,
    MediaRequest,
    SoundRequest,
    StartingNote,
)
from bot.media.tone import key_sound, mp3, pitch_sound
from bot.media.worker import MediaWorker
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key, Pitch
from bot.music.rhythm import Metre
from bot.music.tonality import KeyPattern
from bot.music.voice import Clef
from tests.bench import median_s

_KEY, _DO = Key.parse("F"), Pitch.parse("F4")
_STEPS = (0, 1, 2, 0, 2, 3, 4, 4, 4, 3, 2, 1, 2, 1, 0, 0)
_LINE = Exercise(
    key=_KEY,
    metre=Metre(),
    parts=(Part(notes=tuple(Note(duration=Fraction(1, 4), tone=Tone(step=s)) for s in _STEPS)),),
)
_NOTE = SoundRequest(sound=StartingNote(pitch=_DO))
_PICTURE = EngravingRequest(exercise=_LINE, clefs=(Clef.TREBLE,))


def run() -> dict[str, float]:
    """Medians of ten, here and through the worker; the worker's memory after both kinds."""
    note = pitch_sound(_DO)
    triad = key_sound(_KEY, _DO, KeyPattern.TRIAD)
    here = {
        "starting note, 3.5 s": median_s(lambda: pitch_sound(_DO)),
        "MP3 of the note": median_s(lambda: mp3(note)),
        "key, do mi so mi do, 5.5 s": median_s(lambda: key_sound(_KEY, _DO, KeyPattern.TRIAD)),
        "MP3 of the key": median_s(lambda: mp3(triad)),
        "picture, four measures, PNG": median_s(lambda: make(_PICTURE)),
        "picture for the phone, SVG": median_s(
            lambda: make(
                EngravingRequest(
                    exercise=_LINE, clefs=(Clef.TREBLE,), kind=Engraved.SVG, phone=True
                )
            )
        ),
    }
    with tempfile.TemporaryDirectory() as folder:
        return here | asyncio.run(_through_the_worker(Path(folder)))


async def _through_the_worker(folder: Path) -> dict[str, float]:
    loop = asyncio.get_running_loop()
    async with MediaWorker() as worker:
        cache = MediaCache(folder, worker)

        async def timed(source: MediaWorker | MediaCache, request: MediaRequest) -> float:
            ask = source.render if isinstance(source, MediaWorker) else source.get_or_make
            await ask(request)
            before = loop.time()
            for _ in range(10):
                await ask(request)
            return (loop.time() - before) / 10

        figures = {
            "worker: starting note": await timed(worker, _NOTE),
            "worker: picture, PNG": await timed(worker, _PICTURE),
            "cache: picture, PNG": await timed(cache, _PICTURE),
        }
        await worker.render(SoundRequest(sound=KeyGiving(key=_KEY, do=_DO)))
        peak_mb = _peak_mb(worker.process_id)
    return {**figures, "worker: memory at its peak [MB]": peak_mb}


def _peak_mb(process_id: int | None) -> float:
    status = Path(f"/proc/{process_id}/status").read_text()
    peak = re.search(r"VmHWM:\s+(\d+) kB", status)
    assert peak is not None
    return int(peak[1]) / 1024
