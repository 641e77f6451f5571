"""The clip: a film of one line to sing along with, H.264 and AAC in MP4.

Every still is drawn and turned into the film's colours once, however many frames it lasts.
"""

from __future__ import annotations

import io
import tempfile
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import numpy.typing as npt

from bot.media.clip_plan import ClipPlan, Scene, clip_plan
from bot.media.request import ClipRequest
from bot.media.tone import RATE_HZ, Samples, key_sound, pitch_sound
from bot.notation.clip_page import HEIGHT, STRIP, WIDTH, clip_beats, clip_page
from bot.notation.engrave import EngravingStyle, png, svg
from bot.notation.write import musicxml

Picture = npt.NDArray[np.uint8]  # rows, columns, red green blue

LIMIT_BYTES = 10 * 2**20
_START_S = 3.0
_CLICK_S, _CLICK_HZ, _FIRST_CLICK_HZ = 0.07, 1109.0, 1480.0
_STRIKE_S, _FALL_S = 0.002, 0.0084
_AUDIO_BITS, _FRAME = 112_000, 1024
# Stills hardly cost anything however they are coded; what counts is the time for each frame.
_VIDEO = {"preset": "ultrafast", "tune": "stillimage", "crf": "20"}


def clip(request: ClipRequest) -> bytes:
    """Make the film; ValueError for a curtain outside the line, or a film over 10 MiB."""
    plan, sound = planned(request)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "clip.mp4"  # the index can go to the front of a file only
        _film(request, plan, sound, path)
        made = path.read_bytes()
    if len(made) > LIMIT_BYTES:
        raise ValueError(f"the clip has {len(made) / 2**20:.1f} MiB, ten at most: a shorter line")
    return made


def planned(request: ClipRequest) -> tuple[ClipPlan, Samples]:
    """When everything happens, and all that sounds: key, starting note, the clicks of the count-in.

    The rest is silence to sing into.
    """
    exercise, a4_hz = request.exercise, request.a4_hz
    do = exercise.key.pitch(0, 0, exercise.parts[0].do_octave)
    key = key_sound(exercise.key, do, request.pattern, a4_hz=a4_hz, tempo_bpm=request.tempo_bpm)
    start = pitch_sound(exercise.first_pitch(), a4_hz=a4_hz, seconds=_START_S)
    plan = clip_plan(request, len(key) / RATE_HZ, _START_S)
    sound = np.zeros(round(plan.length_s * RATE_HZ), dtype=np.float32)
    _lay(sound, key, plan.seconds(plan.key_at))
    if plan.start_at is not None:
        _lay(sound, start, plan.seconds(plan.start_at))
    for frame, first in plan.clicks:
        _lay(sound, _click(_FIRST_CLICK_HZ if first else _CLICK_HZ), plan.seconds(frame))
    return plan, sound


def _lay(sound: Samples, more: Samples, at_s: float) -> None:
    room = sound[round(at_s * RATE_HZ) :][: len(more)]
    room += more[: len(room)]


def _click(hertz: float) -> Samples:
    """A dry wooden tick, as the stage has it."""
    time_s = np.arange(round(_CLICK_S * RATE_HZ)) / RATE_HZ
    shape = np.minimum(time_s / _STRIKE_S, 1.0) * np.exp(
        -np.maximum(time_s - _STRIKE_S, 0) / _FALL_S
    )
    return (0.5 * shape * np.sin(2 * np.pi * hertz * time_s)).astype(np.float32)


def _film(request: ClipRequest, plan: ClipPlan, sound: Samples, path: Path) -> None:
    options = {"movflags": "+faststart"}
    with av.open(str(path), "w", format="mp4", options=options) as film:
        video = film.add_stream("libx264", rate=plan.fps, options=_VIDEO)
        video.width, video.height, video.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        video.codec_context.gop_size = int(plan.fps * 4)
        audio = film.add_stream("aac", rate=RATE_HZ, layout="mono", bit_rate=_AUDIO_BITS)
        pieces = _pieces(sound)
        laid = 0
        for number, still in enumerate(_stills(request, plan)):
            still.pts, still.time_base = number, 1 / plan.fps
            film.mux(video.encode(still))
            # The sound keeps step with the picture, so that a player need not look far ahead.
            while laid < (number + 1) / plan.fps * RATE_HZ and (piece := next(pieces, None)):
                film.mux(audio.encode(piece))
                laid += piece.samples
        film.mux(video.encode(None))
        film.mux(audio.encode(None))


def _stills(request: ClipRequest, plan: ClipPlan) -> Iterator[av.VideoFrame]:
    """The picture of every frame; one value for as long as it stays the same."""
    style = EngravingStyle(
        mark_do=request.mark_do, do_name=request.do_name, do_is_tonic=request.do_is_tonic
    )
    music = svg(musicxml(request.exercise, clefs=(request.clef,)), style)
    pages: dict[Scene, Picture] = {}
    beats: dict[int, Picture] = {}
    films: dict[tuple[Scene, int | None], av.VideoFrame] = {}
    ends = [shot.first for shot in plan.shots[1:]] + [plan.frames]
    for shot, end in zip(plan.shots, ends, strict=True):
        look = (shot.scene, shot.beat)
        if look not in films:
            page = pages.get(shot.scene)
            if page is None:
                page = pages[shot.scene] = _page(request, music, shot.scene)
            if shot.beat is not None and shot.beat not in beats:
                strip = clip_beats(request.exercise.metre.pulses, shot.beat)
                beats[shot.beat] = _painted(strip, STRIP[0])
            films[look] = _still(page, None if shot.beat is None else beats[shot.beat])
        for _ in range(shot.first, end):
            yield films[look]


def _page(request: ClipRequest, music: str, scene: Scene) -> Picture:
    sentence: str = getattr(request.captions, scene.value)
    return _painted(clip_page(None if scene is Scene.AWAY else music, sentence), WIDTH)


def _painted(drawing: str, width: int) -> Picture:
    with av.open(io.BytesIO(png(drawing, width)), "r", format="png_pipe") as picture:
        frame = next(picture.decode(video=0))
    return frame.to_ndarray(format="rgb24").astype(np.uint8, copy=False)


def _still(page: Picture, beats: Picture | None) -> av.VideoFrame:
    if beats is not None:
        page = page.copy()
        page[-beats.shape[0] :, -beats.shape[1] :] = beats
    return av.VideoFrame.from_ndarray(page, format="rgb24").reformat(format="yuv420p")


def _pieces(sound: Samples) -> Iterator[av.AudioFrame]:
    for at in range(0, len(sound), _FRAME):
        part = sound[np.newaxis, at : at + _FRAME]
        piece = av.AudioFrame.from_ndarray(np.ascontiguousarray(part), format="fltp", layout="mono")
        piece.sample_rate, piece.pts, piece.time_base = RATE_HZ, at, Fraction(1, RATE_HZ)
        yield piece
