"""MIDI: written, read back by others and by us, refused."""

import io
import warnings
from dataclasses import replace
from fractions import Fraction

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.errors import InputProblems, Refused
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key, Mode
from bot.music.rhythm import Metre
from bot.music.span import spans_of
from bot.notation.midi import music_from_midi
from bot.notation.midi_write import midi
from tests.music.drawn import exercises, heard
from tests.notation.lines import exercise

_SCALE_TONES = tuple(Tone(step=step) for step in range(-5, 10))


def _file(*tracks, ticks=480, kind=1):
    file = mido.MidiFile(type=kind, ticks_per_beat=ticks)
    file.tracks += [mido.MidiTrack(track) for track in tracks]
    written = io.BytesIO()
    file.save(file=written)
    return written.getvalue()


_IN_C = [
    mido.MetaMessage("key_signature", key="C"),
    mido.MetaMessage("time_signature", numerator=4, denominator=4),
]


def _keys(*keys, channel=0):
    """Keys struck one after another: (number, ticks down, ticks up until the next)."""
    track, wait = [], 0
    for number, down, up in keys:
        track.append(mido.Message("note_on", note=number, time=wait, channel=channel))
        track.append(mido.Message("note_off", note=number, time=down, channel=channel))
        wait = up
    return track


def _faults(data, **options):
    with pytest.raises(InputProblems) as caught:
        music_from_midi(data, "tune.mid", **options)
    return [str(fault) for fault in caught.value.faults]


@given(exercise=exercises(tones=_SCALE_TONES, do_octaves=(3, 4)))
def test_an_exercise_is_read_back_from_its_midi(exercise):
    music = music_from_midi(midi(exercise), "own.mid")

    assert heard(music.exercise) == heard(exercise)
    assert music.notices == ("formats.midi.spelling",)


@given(exercise=exercises())
def test_the_same_exercise_gives_the_same_bytes(exercise):
    assert midi(exercise) == midi(exercise)


@given(exercise=exercises())
def test_mido_hears_the_notes_where_they_stand(exercise):
    read = mido.MidiFile(file=io.BytesIO(midi(exercise)))

    for index, part in enumerate(exercise.parts):
        now, sounding, played = Fraction(0), {}, []
        for message in read.tracks[index + 1]:
            now += Fraction(message.time, read.ticks_per_beat * 4)
            if message.type == "note_on":
                sounding[message.note] = now
            elif message.type == "note_off":
                played.append((sounding.pop(message.note), now, message.note))
        assert now == exercise.length
        assert played == [
            (span.onset, span.end, exercise.pitch(span.tone, index).midi) for span in spans_of(part)
        ]


def test_partitura_reads_the_same_notes_key_and_metre(tmp_path):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura

    made = exercise("Eb", "3/4", "0:q 1:e 2:e 4:q 3:qd r:e 2:q 0:h", pickup=Fraction(1, 4))
    sung = replace(made.parts[0], words=("The", "lan-", "terns", "glow", "a-", "round", "us"))
    made = replace(made, parts=(sung,))
    path = tmp_path / "made.mid"
    path.write_bytes(midi(made))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        part = partitura.load_score_midi(str(path), part_voice_assign_mode=0).parts[0]

    whole = 4 * part.quarter_duration_map(0)
    assert [
        (Fraction(int(note.start.t), int(whole)), Fraction(int(note.duration_tied), int(whole)),
         note.midi_pitch)
        for note in part.notes_tied
    ] == [
        (span.onset, span.end - span.onset, made.pitch(span.tone).midi)
        for span in spans_of(made.parts[0])
    ]  # fmt: skip
    assert [signature.fifths for signature in part.key_sigs] == [-3]
    assert [(each.beats, each.beat_type) for each in part.time_sigs] == [(1, 4), (3, 4)]


def test_the_tempo_counts_felt_beats():
    made = exercise("F", "6/8", "0:qd 2:qd")

    read = mido.MidiFile(file=io.BytesIO(midi(made, tempo_bpm=60)))

    assert read.length == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("key", "numbers", "names"),
    [
        ("C", [60, 61, 62, 61, 60], "C4 C#4 D4 Db4 C4"),
        ("F", [65, 68, 65, 71, 72], "F4 Ab4 F4 B4 C5"),
        ("A minor", [69, 68, 69, 66, 64], "A4 G#4 A4 F#4 E4"),
        ("D", [62, 73, 74, 72, 69], "D4 C#5 D5 C5 A4"),
    ],
)
def test_altered_tones_lean_towards_the_next_tone(key, numbers, names):
    track = _keys(*[(number, 480, 0) for number in numbers])

    music = music_from_midi(_file(track), "tune.mid", key=Key.parse(key))

    assert " ".join(pitch.plain for pitch in music.exercise.pitches()) == names


def test_a_played_line_is_moved_to_sixteenths_and_its_gaps_are_closed():
    played = _keys((60, 455, 31), (62, 221, 9), (64, 239, 22), (65, 930, 0))

    music = music_from_midi(_file(_IN_C, played), "tune.mid")

    assert [note.duration for note in music.exercise.parts[0].notes] == [
        *[Fraction(1, 4), Fraction(1, 8), Fraction(1, 8), Fraction(1, 2)]
    ]
    assert music.notices == ("formats.midi.spelling", "formats.midi.moved")


def test_legato_notes_that_overlap_follow_one_another():
    track = [
        mido.Message("note_on", note=60, time=0),
        mido.Message("note_on", note=62, time=480),
        mido.Message("note_off", note=60, time=60),
        mido.Message("note_on", note=62, velocity=0, time=420),
    ]

    music = music_from_midi(_file(_IN_C, track), "tune.mid")

    assert [note.duration for note in music.exercise.parts[0].notes if note.tone] == [
        *[Fraction(1, 4), Fraction(1, 4)]
    ]


def test_channels_of_one_track_are_parts_and_drums_are_left_out():
    upper = _keys((72, 1920, 0))
    lower = _keys((60, 1920, 0), channel=1)
    drums = _keys((35, 480, 0), channel=9)
    track = [*_IN_C, upper[0], lower[0], drums[0], *drums[1:], upper[1].copy(time=1440),
             lower[1].copy(time=0)]  # fmt: skip

    music = music_from_midi(_file(track, kind=0), "tune.mid")

    names = [music.exercise.first_pitch(part).plain for part in range(2)]
    assert (names, len(music.exercise.parts)) == (["C5", "C4"], 2)


def test_the_last_measure_is_filled_with_silence():
    music = music_from_midi(_file(_IN_C, _keys((60, 480, 0))), "tune.mid")

    assert music.exercise.length == 1


def test_a_file_without_a_key_asks_for_it():
    data = _file(_keys((60, 480, 0)))

    (fault,) = _faults(data)
    assert fault.startswith("tune.mid: it names no key (name it: `check --key F`, or at the desk")
    read = music_from_midi(data, "tune.mid", key=Key(fifths=-3, mode=Mode.MINOR))
    assert read.exercise.key == Key.parse("C minor")


def test_all_faults_of_a_file_are_told_at_once():
    signatures = [
        *_IN_C,
        mido.MetaMessage("key_signature", key="G", time=480),
        mido.MetaMessage("time_signature", numerator=3, denominator=4, time=0),
    ]
    chord = [
        mido.Message("note_on", note=60, time=2160),
        mido.Message("note_on", note=64, time=0),
        mido.Message("note_off", note=60, time=480),
        mido.Message("note_off", note=64, time=0),
    ]

    assert _faults(_file(signatures, chord, *[_keys((60, 480, 0))] * 3)) == [
        "tune.mid: the key changes (cut the music into readings of one key each)",
        "tune.mid: the meter changes (cut the music into readings of one meter each)",
        "tune.mid: it has 4 lines of notes (leave 3 tracks at most, one line each)",
        "measure 2, beat 1½: two notes at once (one line a track, one note at a time)",
    ]


@pytest.mark.parametrize(
    ("data", "fault"),
    [
        (b"", "tune.mid: it is not a MIDI file, or a damaged one (save it again)"),
        (b"MThd", "tune.mid: it is not a MIDI file, or a damaged one (save it again)"),
        (b"\0" * (2 * 1024 * 1024 + 1), "tune.mid: the file is larger than 2 MiB"),
        (_file(_IN_C), "tune.mid: it has no notes"),
        (_file(_IN_C, kind=2), "tune.mid: it keeps time in a way that has no measures "
         "(save it as a MIDI file of kind 0 or 1)"),
        (_file(_IN_C, _keys((60, 1920 * 200, 0))), "tune.mid: it has more than 128 measures "
         "(cut out the passage)"),
        (_file(_IN_C, [mido.Message("note_on", note=60, velocity=0)] * 50_001),
         "tune.mid: it has more than 50000 events (cut out the passage)"),
    ],
)  # fmt: skip
def test_what_is_no_tune_is_refused(data, fault):
    assert fault in _faults(data)


@given(
    exercise=exercises(parts=1),
    changes=st.lists(st.tuples(st.integers(0, 10_000), st.integers(0, 255)), max_size=6),
    cut=st.integers(0, 40),
)
def test_a_damaged_file_is_read_or_refused(exercise, changes, cut):
    data = bytearray(midi(exercise))
    for place, value in changes:
        data[place % len(data)] = value

    try:
        music_from_midi(bytes(data[: len(data) - cut]), "damaged.mid")
    except InputProblems as problems:
        assert problems.faults


def test_what_midi_cannot_hold_is_refused_with_its_place():
    fine = Fraction(1, 7)
    seventh = Part(notes=(Note(duration=fine, tone=Tone(step=0)), Note(duration=1 - fine)))
    high = Part(notes=(Note(duration=Fraction(1), tone=Tone(step=0)),), do_octave=12)

    for part, key in ((seventh, "formats.midi.fine"), (high, "formats.midi.height")):
        with pytest.raises(Refused) as caught:
            midi(Exercise(key=Key(fifths=0), metre=Metre(), parts=(part,)))
        assert (caught.value.key, caught.value.values["measure"]) == (key, 1)
