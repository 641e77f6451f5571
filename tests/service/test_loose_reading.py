"""One exercise for one voice, without a choir, as it is or turned."""

from dataclasses import replace

import pytest

from bot.cli import main
from bot.errors import InputProblems, NoExercise
from bot.music.tonicsolfa import exercise_from_tonicsolfa
from bot.music.turns import Turn, retrograde, rhythm_only
from bot.music.voice import Clef, Voice
from bot.notation.read import exercise_from_musicxml
from bot.service.content import load_content
from bot.service.loose_reading import Wish, compose_loose, part_clefs
from bot.service.loose_voices import for_some_voice
from tests.fakes.world import CONTENT

_WISH = Wish(steps=["p05", "r04"], voice=Voice.TREBLE, seed=3)


@pytest.mark.parametrize(
    ("voice", "clefs"),
    [
        (Voice.TREBLE, (Clef.TREBLE, Clef.TREBLE)),
        (Voice.CHANGING, (Clef.TREBLE8, Clef.BASS)),
    ],
)
def test_a_low_line_of_a_part_does_not_take_its_clef_away(voice, clefs):
    # Neither line of the second part leaves C4: the one is low by chance, the other by its voice.
    low = exercise_from_tonicsolfa("KEY C.  |d :r !m :d ||\nKEY C.  |d :l_ !d :d ||")
    assert max(pitch.midi for pitch in low.pitches(1)) == 60
    assert part_clefs(low, voice) == clefs


@pytest.mark.parametrize(
    ("turn", "change"), [(Turn.RETROGRADE, retrograde), (Turn.RHYTHM_ONLY, rhythm_only)]
)
def test_a_turn_is_a_turn_of_the_line_that_would_come_without(turn, change):
    content = load_content([CONTENT])
    plain = compose_loose(_WISH, content).exercise
    assert compose_loose(replace(_WISH, turn=turn), content).exercise == change(plain) != plain


@pytest.mark.parametrize("turn", [None, *Turn])
@pytest.mark.parametrize(
    ("steps", "changes", "said"),
    [
        ("p06 r17", {}, ()),
        ("p06 r17", {"metre": "6/8"}, ()),
        ("p06 r17", {"metre": "4/4"},
         ("In 4/4 the line is without what is newest at step r17 "
          "(6/8 in dotted quarters, filled by the dotted half).",)),
        ("p09 v07", {"voice": Voice.CHANGING},
         ("All read a line of step p07 (low ti by step): "
          "the tones of step p09 (low la by step) are out of reach of these voices together.",)),
        ("p09 v07", {}, ()),
    ],
)  # fmt: skip
def test_what_came_out_otherwise_than_at_the_step_is_said(steps, changes, said, turn):
    wish = replace(_WISH, steps=steps.split(), turn=turn, **changes)
    assert compose_loose(wish, load_content([CONTENT])).remarks == said


def test_the_command_writes_the_line_backwards(tmp_path, capsys):
    wish = ["compose", "--step", "p05,r04", "--voice", "treble", "--seed", "3"]
    for folder, turn in (("plain", []), ("turned", ["--retrograde"])):
        assert main([*wish, *turn, "--out", str(tmp_path / folder)]) == 0
    plain, turned = (
        exercise_from_musicxml((tmp_path / name / "reading.musicxml").read_bytes(), "reading")
        for name in ("plain", "turned")
    )
    assert turned == retrograde(plain)
    assert "reading.png" in capsys.readouterr().out


def test_one_turn_at_a_time(capsys):
    turns = ["--retrograde", "--rhythm-only"]
    with pytest.raises(SystemExit):
        main(["compose", "--step", "p01", "--voice", "treble", "--out", "x", *turns])
    assert "not allowed with argument" in capsys.readouterr().err


def test_without_a_voice_the_highest_that_can_has_the_line_and_the_others_hear_why(
    tmp_path, capsys
):
    assert main(["compose", "--step", "p10", "--out", str(tmp_path / "none")]) == 0
    said = capsys.readouterr().err
    assert "For a treble voice" in said
    assert "A changing voice cannot read it. In no key" in said
    assert "baritone" not in said
    assert main(["compose", "--step", "p10", "--voice", "treble", "--out", str(tmp_path)]) == 0
    assert capsys.readouterr().err == ""
    pictures = [(folder / "reading.svg").read_bytes() for folder in (tmp_path, tmp_path / "none")]
    assert pictures[0] == pictures[1]


def test_where_the_highest_voice_cannot_the_next_has_the_line():
    asked = []

    def make(wish):
        asked.append(wish.voice)
        if wish.voice is Voice.TREBLE:
            raise NoExercise("refusal.metre", metre="5/4", step="r01", known="4/4")
        return wish.voice

    found = for_some_voice(_WISH, make, load_content([CONTENT]).wording)
    assert (found.voice, found.made, asked) == (Voice.CHANGING, Voice.CHANGING, list(Voice))
    assert found.remarks[1].startswith("A treble voice cannot read it. 5/4 is not known")


def test_where_no_voice_can_each_hears_its_own_reason():
    def make(wish):
        raise NoExercise("refusal.metre", metre="5/4", step=wish.voice, known="4/4")

    with pytest.raises(InputProblems) as refusal:
        for_some_voice(_WISH, make, load_content([CONTENT]).wording)
    assert [fault.place for fault in refusal.value.faults] == list(Voice)


def test_a_reason_that_is_the_same_for_every_voice_is_said_once(tmp_path, capsys):
    assert main(["compose", "--step", "p17", "--key", "F", "--out", str(tmp_path)]) == 2
    (said,) = capsys.readouterr().err.splitlines()
    assert said.startswith("riserbell: ")
    assert "is in minor" in said


@pytest.mark.parametrize("text", [",", "", "p04,,r05", "p04, "])
def test_a_step_that_is_left_out_is_told(text, capsys):
    with pytest.raises(SystemExit) as end:
        main(["compose", "--step", text, "--out", "x"])
    assert end.value.code == 2
    (said,) = capsys.readouterr().err.splitlines()
    assert said.startswith(f"riserbell: argument --step: {text!r} leaves out a step: write ids")


@pytest.mark.parametrize("words", [[], ["--words", "..."]])
def test_all_that_is_wrong_with_a_wish_is_told_at_once(words, capsys):
    wrong = ["--key", "", "--metre", "5", "--measures", "0", *words]
    assert main(["compose", "--step", "p04,p05,r99", "--out", "x", *wrong]) == 2
    said = [line.split(": ")[1] for line in capsys.readouterr().err.splitlines()]
    assert said == ["--key", "--metre", "--measures", "p05", "r99", *(["line 1"] if words else [])]


@pytest.mark.parametrize(
    ("wish", "place"),
    [
        (["--step", "p04", "--first", ""], "--first"),
        (["--step", "p04", "--first", " ", "--words", "la"], "--first"),
        (["--criteria", ""], "''"),
        (["--criteria", "maine", "--sequence", ""], "--sequence"),
        (["--criteria", "maine", "--measures", "0"], "--measures"),
    ],
)
def test_an_empty_wish_is_a_wish(wish, place, capsys):
    assert main(["compose", *wish, "--voice", "treble", "--out", "x"]) == 2
    assert capsys.readouterr().err.split(": ")[1] == place


def test_a_published_reading_of_rhythm_is_written_on_one_line_without_pitch(tmp_path):
    wish = ["compose", "--criteria", "colorado-middle/rhythm", "--voice", "treble"]
    assert main([*wish, "--out", str(tmp_path)]) == 0
    written = (tmp_path / "reading.musicxml").read_text(encoding="utf-8")
    assert "<staff-lines>1</staff-lines>" in written
    assert "<pitch>" not in written
    assert (tmp_path / "reading.txt").read_text(encoding="utf-8").startswith("Rhythm, 4/4")
