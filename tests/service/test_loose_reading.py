"""One exercise for one voice, without a choir, as it is or turned."""

from dataclasses import replace

import pytest

from bot.cli import main
from bot.music.turns import Turn, retrograde, rhythm_only
from bot.music.voice import Voice
from bot.notation.read import exercise_from_musicxml
from bot.service.content import load_content
from bot.service.loose_reading import Wish, compose_loose
from tests.fakes.world import CONTENT

_WISH = Wish(steps=["p05", "r04"], voice=Voice.TREBLE, seed=3)


@pytest.mark.parametrize(
    ("turn", "change"), [(Turn.RETROGRADE, retrograde), (Turn.RHYTHM_ONLY, rhythm_only)]
)
def test_a_turn_is_a_turn_of_the_line_that_would_come_without(turn, change):
    content = load_content([CONTENT])
    plain = compose_loose(_WISH, content)
    assert compose_loose(replace(_WISH, turn=turn), content) == change(plain) != plain


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
