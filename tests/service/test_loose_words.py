"""A line for words from the command line: the files have the words, and what to know is told."""

from types import SimpleNamespace

import pytest

from bot.cli import main
from bot.notation.pronouncing import sung_words
from bot.service.content import load_content
from bot.service.loose_words import word_remarks
from tests.fakes.world import CONTENT

_COMPOSE = ["compose", "--step", "p05,r04", "--voice", "treble"]


def test_the_command_sets_words_and_tells_what_was_guessed(tmp_path, capsys):
    words = ["--words", "Lanterns glow by the snorple / all along the shore", "--first", "so"]
    assert main([*_COMPOSE, *words, "--out", str(tmp_path)]) == 0
    said = capsys.readouterr()
    assert "No dictionary has 'snorple'; it is read as ^snor-ple." in said.err
    score = (tmp_path / "reading.musicxml").read_text(encoding="utf-8")
    assert score.count("<lyric") == 12
    assert "<text>Lan</text>" in score
    told = (tmp_path / "reading.txt").read_text(encoding="utf-8")
    assert "Words: “Lanterns glow by the snorple all along the shore”." in told
    assert "Measure 1: so " in told


def test_words_that_no_dictionary_has_are_told_in_one_sentence():
    say, plain = load_content([CONTENT]).wording, SimpleNamespace(bent=(), less_new=False)
    (told,) = word_remarks(sung_words("Der Mond ist rund prangen"), plain, say)
    assert "'Mond'" in told
    assert "they are read as" in told
    assert "^pran-gen" in told


@pytest.mark.parametrize(
    ("extra", "said"),
    [
        (["--words", "Stars & sky"], "write it as a word"),
        (["--words", "3 stars", "--key", "H"], "has figures in it"),
        (["--words", "3 stars", "--key", "H"], "--key"),
        (["--words", "Stars", "--both-ways"], "words go neither with criteria"),
        (["--words", "Stars above us", "--first", "fi"], "Step p05 has no fi"),
        (["--first", "so"], "goes with --words"),
        (["--words", "Stars", "--sequence", "ours"], "no order of steps 'ours'"),
    ],
)
def test_what_cannot_be_is_told_at_once(extra, said, tmp_path, capsys):
    assert main([*_COMPOSE, *extra, "--out", str(tmp_path)]) != 0
    assert said in capsys.readouterr().err


def test_a_metre_without_the_newest_thing_of_the_step_is_said(tmp_path, capsys):
    command = ["compose", "--step", "p05,r05", "--voice", "treble", "--out", str(tmp_path)]
    words = ["--words", "Lanterns glow and shine / all along the shore"]
    assert main([*command, *words, "--metre", "4/4"]) == 0
    assert "In 4/4 the line is without what is newest at step r05" in capsys.readouterr().err


def test_a_turned_line_keeps_its_words_where_it_can_and_says_where_not(tmp_path, capsys):
    words = ["--words", "Lanterns glow and shine / all along the shore"]
    assert main([*_COMPOSE, *words, "--rhythm-only", "--out", str(tmp_path / "bare")]) == 0
    assert "without its words" not in capsys.readouterr().err
    bare = (tmp_path / "bare" / "reading.musicxml").read_text(encoding="utf-8")
    assert bare.count("<unpitched>") == bare.count("<lyric") == 10
    assert "<pitch>" not in bare
    told = (tmp_path / "bare" / "reading.txt").read_text(encoding="utf-8")
    assert told.startswith("Rhythm, ")
    assert main([*_COMPOSE, *words, "--retrograde", "--out", str(tmp_path / "back")]) == 0
    assert "the line is sung without its words" in capsys.readouterr().err
    back = (tmp_path / "back" / "reading.musicxml").read_text(encoding="utf-8")
    assert "<lyric" not in back
