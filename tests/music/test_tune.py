"""The collection of mystery tunes: what ships, and what is told about a broken one."""

import pytest

from bot.errors import InputProblems
from bot.music.pitch import Key, Mode
from bot.music.tune import parse_tunes
from bot.music.voice import DEFAULT_RANGES, Clef, Voice
from bot.notation.abc import exercise_from_abc
from bot.notation.abc_write import exercise_to_abc
from bot.notation.engrave import svg
from bot.notation.picture import note_boxes
from bot.notation.write import musicxml
from tests.notation.lines import REPOSITORY

_FOLDER = REPOSITORY / "content" / "tunes"
_MUSIC = "X:1\nM:4/4\nL:1/4\nK:C\nCDEF|G4|GFED|C4|]\n"
_TABLE = """
[made-up]
title = "Made up"
country = "nowhere"
century = 21
free = "made for a test"
history = "It has none."
devotional = false
"""


def _parse(index, texts):
    return parse_tunes(index, texts, exercise_from_abc)


def _faults(index, texts):
    with pytest.raises(InputProblems) as caught:
        _parse(index, texts)
    return [str(fault) for fault in caught.value.faults]


@pytest.fixture(scope="module")
def tunes():
    texts = {path.stem: path.read_text(encoding="utf-8") for path in _FOLDER.glob("*.abc")}
    return _parse((_FOLDER / "tunes.toml").read_text(encoding="utf-8"), texts)


def test_at_least_forty_tunes_ship_from_many_countries(tunes):
    assert len(tunes) >= 40
    assert len({tune.country for tune in tunes}) >= 15
    assert len({tune.title for tune in tunes}) == len({tune.id for tune in tunes}) == len(tunes)


def test_most_are_in_major_and_some_in_minor_and_most_are_no_devotion(tunes):
    minor = [tune for tune in tunes if tune.exercise.key.mode is Mode.MINOR]
    devotional = [tune for tune in tunes if tune.devotional]
    assert 5 <= len(minor) <= len(tunes) / 3
    assert 5 <= len(devotional) <= len(tunes) / 3


def test_a_carol_is_marked_under_whatever_name_it_is_known(tunes):
    carols = {"Ding Dong! Merrily on High", "Good King Wenceslas", "Angels We Have Heard on High"}
    for tune in tunes:
        assert tune.devotional or not carols & set(tune.also), tune.id
    assert carols <= {name for tune in tunes for name in tune.also}


def test_no_two_openings_are_the_same(tunes):
    assert len({tune.exercise.fingerprint() for tune in tunes}) == len(tunes)


@pytest.mark.parametrize("voice", [Voice.TREBLE, Voice.BARITONE])
def test_every_tune_can_be_sung_by_a_whole_voice_in_some_key(tunes, voice):
    limits = DEFAULT_RANGES[voice]
    unsung = []
    for tune in tunes:
        mode = tune.exercise.key.mode
        keys = [(Key(fifths=fifths, mode=mode), octave) for fifths in range(-6, 7)
                for octave in range(1, 6)]  # fmt: skip
        moved = (tune.exercise.in_key(key, (octave,)) for key, octave in keys)
        if not any(all(map(limits.holds, each.pitches())) for each in moved):
            unsung.append(tune.id)
    assert unsung == []


def test_every_measure_is_whole_and_the_last_makes_up_for_the_pickup(tunes):
    for tune in tunes:
        exercise = tune.exercise
        over = (exercise.length - exercise.pickup) % exercise.metre.measure
        assert (over + exercise.pickup) % exercise.metre.measure == 0, tune.id


def test_every_tune_is_engraved_note_for_note_and_written_as_it_was_read(tunes):
    for tune in tunes:
        picture = svg(musicxml(tune.exercise, clefs=(Clef.TREBLE,)))
        assert len(note_boxes(picture)) == len(tune.exercise.parts[0].notes), tune.id
        assert exercise_from_abc(exercise_to_abc(tune.exercise)) == tune.exercise, tune.id


def test_the_title_in_the_music_is_that_of_the_index(tunes):
    for tune in tunes:
        assert f"T:{tune.title}\n" in (_FOLDER / f"{tune.id}.abc").read_text(encoding="utf-8")


def test_a_tune_is_read_with_what_may_be_told_of_it():
    (tune,) = _parse(_TABLE + 'also = ["Other"]\nprinted = "Here, 2020"\n', {"made-up": _MUSIC})

    assert (tune.id, tune.title, tune.also, tune.printed) == (
        "made-up", "Made up", ("Other",), "Here, 2020",
    )  # fmt: skip
    assert tune.exercise == exercise_from_abc(_MUSIC)


def test_all_faults_of_index_and_music_are_told_at_once():
    index = _TABLE.replace("21", "0").replace('"nowhere"', "3") + "year = 1700\nalso = 1\n[Loud]\n"

    assert _faults(index, {"made-up": "X:1\nM:4/4\nK:C\nc|", "spare": _MUSIC}) == [
        "tunes.toml: made-up.year: is not known (known are also, century, country, devotional, "
        "free, history, printed, title)",
        "tunes.toml: made-up.country: needs a text",
        "tunes.toml: made-up.also: needs a list of names (or leave it out)",
        "tunes.toml: made-up.century: needs a number (18 for the 1700s)",
        "made-up.abc, line 4, column 1: this measure adds up to 1/2 beats of 1/4 (4/4 needs 4)",
        "tunes.toml: Loud: is no name for a file "
        "(lower case letters and digits, parted by hyphens)",
        "tunes.toml: Loud.title: needs a text",
        "tunes.toml: Loud.country: needs a text",
        "tunes.toml: Loud.free: needs a text",
        "tunes.toml: Loud.history: needs a text",
        "tunes.toml: Loud.century: needs a number (18 for the 1700s)",
        "tunes.toml: Loud.devotional: needs true or false",
        "tunes.toml: Loud: has no music (add Loud.abc)",
        "spare.abc: the index does not name it (add [spare] to tunes.toml)",
    ]


@pytest.mark.parametrize(
    ("music", "fault"),
    [
        ("C4|D4|]", "made-up.abc: has 2 measures (an opening has four to eight)"),
        ("C4|c4|f4|C4|]", "made-up.abc: is wider than a tenth (choose another opening)"),
        ("C4|C4|C4|C4|\nV:2\nC4|C4|C4|C4|", "made-up.abc: has several parts (a tune is one line)"),
    ],
)
def test_music_that_is_no_opening_is_told(music, fault):
    assert _faults(_TABLE, {"made-up": f"X:1\nM:4/4\nL:1/4\nK:C\n{music}\n"}) == [fault]


@pytest.mark.parametrize("index", ["title =", "made-up = 1"])
def test_an_index_that_is_none_is_told(index):
    assert _faults(index, {"made-up": _MUSIC})
