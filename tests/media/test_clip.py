"""The clip, decoded again: pictures on their frames, clicks on their beats, pitches, silence."""

import io
from dataclasses import replace
from fractions import Fraction

import av
import numpy as np
import pytest

from bot.media.clip import LIMIT_BYTES, planned
from bot.media.clip_plan import Scene, clip_plan
from bot.media.render import make
from bot.media.request import Captions, ClipRequest
from bot.media.tone import RATE_HZ
from bot.music.voice import Clef
from tests.media.listening import cents_off
from tests.music.lines import line

LINE = line("do:q re:q mi:q fa:q | so:q fa:q mi:h | re:q mi:q fa:q re:q | do:w")
CAPTIONS = Captions(
    key="The key", start="First note", count="Count", sing="Sing", away="Sing on", again="Again"
)
REQUEST = ClipRequest(
    exercise=LINE, clef=Clef.TREBLE, curtain=Fraction(7), captions=CAPTIONS, tempo_bpm=92
)
BEAT_S = 60 / 92


@pytest.fixture(scope="module")
def film():
    return make(REQUEST)


@pytest.fixture(scope="module")
def plan():
    return planned(REQUEST)[0]


@pytest.fixture(scope="module")
def frames(film):
    """(time in seconds, grey picture at a quarter of its size) of every frame."""
    with av.open(io.BytesIO(film)) as opened:
        return [
            (frame.time, frame.to_ndarray(format="gray")[::4, ::4].astype(int))
            for frame in opened.decode(video=0)
        ]


@pytest.fixture(scope="module")
def sound(film):
    """Samples in the film's own time: what a player leaves out before nought is left out here."""
    with av.open(io.BytesIO(film)) as opened:
        samples = np.zeros(round(60 * RATE_HZ))
        for frame in opened.decode(audio=0):
            at, part = round(frame.time * RATE_HZ), frame.to_ndarray()[0]
            part = part[max(-at, 0) :]
            samples[max(at, 0) : max(at, 0) + len(part)] = part
    return samples


def ink(picture):
    """How much dark ink stands in the music's field."""
    return int((picture[12:136] < 90).sum())


def test_the_film_is_h264_and_aac_in_mp4_and_small(film):
    with av.open(io.BytesIO(film)) as opened:
        assert "mp4" in opened.format.name
        assert opened.streams.video[0].codec_context.name == "h264"
        assert opened.streams.video[0].codec_context.pix_fmt == "yuv420p"
        assert opened.streams.audio[0].codec_context.name == "aac"
    assert len(film) <= LIMIT_BYTES
    assert film.index(b"moov") < film.index(b"mdat"), "a phone begins before it has all of it"


def test_the_page_goes_on_its_frame_and_comes_back_at_the_end_of_the_line(frames, plan):
    seen = [ink(picture) > 200 for _, picture in frames]
    assert len(frames) == plan.frames
    gone = seen.index(False)
    back = seen.index(True, gone)
    assert gone == plan.curtain_at
    assert back == plan.shots[-1].first
    assert not any(seen[gone:back])
    line_s = plan.seconds(plan.line_at)
    assert frames[gone][0] - line_s == pytest.approx(7 * BEAT_S, abs=1e-3)
    assert frames[back][0] - line_s == pytest.approx(16 * BEAT_S, abs=1e-3)


def test_a_figure_is_marked_for_every_beat_so_that_no_sound_is_needed(frames, plan):
    """The mark under the figures moves with each beat of the count-in, the line and the silence."""
    marks = []
    for beat in range(4 + 16):
        frame = plan.clicks[0][0] + beat * plan.per_beat
        under = frames[frame][1][170:174].min(axis=0)
        marks.append(float(np.flatnonzero(under < 120).mean()))
    assert np.diff(marks[:4]) == pytest.approx([marks[1] - marks[0]] * 3, abs=1)
    assert marks[1] - marks[0] > 10
    assert marks == pytest.approx(marks[:4] * 5, abs=1)


def test_clicks_are_heard_on_the_beats_of_the_count_in_and_nowhere_else(sound, plan):
    for frame, _ in plan.clicks:
        at = plan.seconds(frame)
        near = np.abs(sound[round((at - 0.05) * RATE_HZ) : round((at + 0.1) * RATE_HZ)])
        onset = int(np.argmax(near > 0.3 * near.max())) / RATE_HZ - 0.05
        assert abs(onset) < 0.010
    gaps = np.diff([plan.seconds(frame) for frame, _ in plan.clicks])
    assert gaps == pytest.approx(BEAT_S)


def test_nothing_sounds_while_they_sing(sound, plan):
    rest = sound[round((plan.seconds(plan.line_at) + 0.05) * RATE_HZ) :]
    assert np.abs(rest).max() < 0.001


def test_key_and_starting_note_are_within_a_cent(sound, plan):
    tonic = LINE.first_pitch().frequency_hz(440.0)
    start = plan.seconds(plan.start_at)
    assert cents_off(sound, tonic, start + 0.3, start + 2.3) < 1
    key = plan.seconds(plan.key_at)
    assert cents_off(sound, tonic, key + 0.1, key + BEAT_S - 0.1) < 1


def test_scenes_come_in_their_order(plan):
    scenes = list(dict.fromkeys(shot.scene for shot in plan.shots))
    assert scenes == list(Scene)
    firsts = [shot.first for shot in plan.shots]
    assert firsts == sorted(set(firsts))


@pytest.mark.parametrize("tempo", [40, 60, 69, 104, 160])
@pytest.mark.parametrize("curtain", [0, Fraction(9, 2), 15])
def test_every_tempo_and_place_falls_on_a_whole_frame(tempo, curtain):
    made = clip_plan(replace(REQUEST, tempo_bpm=tempo, curtain=Fraction(curtain)), 4.0, 3.0)
    assert (made.curtain_at - made.line_at) / made.fps == Fraction(curtain) * 60 / tempo
    assert 8 <= made.fps <= 20


def test_without_a_starting_note_the_count_in_follows_the_key():
    made = clip_plan(replace(REQUEST, gives_pitch=False), 4.0, 3.0)
    assert made.start_at is None
    assert Scene.START not in {shot.scene for shot in made.shots}


def test_a_pickup_is_sung_within_the_count_in():
    exercise = line("do:q re:q mi:q fa:q | so:w | fa:q mi:q re:q mi:q | do:h.", pickup="so,:q")
    made = clip_plan(replace(REQUEST, exercise=exercise), 4.0, 3.0)
    assert len(made.clicks) == 3


@pytest.mark.parametrize("curtain", [Fraction(-1), Fraction(16), Fraction(99)])
def test_a_curtain_outside_the_line_is_refused(curtain):
    with pytest.raises(ValueError, match="within the line"):
        clip_plan(replace(REQUEST, curtain=curtain), 4.0, 3.0)
