"""The command that writes partner lines: folders of files, what is told, what is refused."""

import re
from dataclasses import replace

import pytest

from bot.cli import main
from bot.music.partners import meeting
from bot.music.voice import Clef, Voice
from bot.notation.read import exercise_from_musicxml, music_from_musicxml
from bot.service.loose_partners import compose_partners
from bot.service.loose_reading import Wish
from tests.fakes.world import content


def _read(folder):
    return exercise_from_musicxml((folder / "reading.musicxml").read_bytes(), "reading")


def test_the_command_writes_lines_and_pairs_and_says_why_they_go_well(tmp_path, capsys):
    wish = ["partners", "--step", "p03,r01", "--voices", "treble,baritone", "--measures", "4"]
    assert main([*wish, "--format", "mid,letters", "--out", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert {each.name for each in tmp_path.iterdir()} == {"line-1", "line-2", "lines-1-2"}
    kinds = {"png", "svg", "musicxml", "txt", "mid", "letters.txt"}
    for folder in tmp_path.iterdir():
        assert {f"reading.{kind}" for kind in kinds} <= {each.name for each in folder.iterdir()}
    one, other, both = (_read(tmp_path / name) for name in ("line-1", "line-2", "lines-1-2"))
    notes = {each.parts[0].notes for each in (one, other)}
    assert {part.notes for part in both.parts} == notes
    heights = [sum(p.midi for p in both.pitches(n)) / len(both.pitches(n)) for n in (0, 1)]
    assert heights[0] > heights[1]
    score = music_from_musicxml((tmp_path / "lines-1-2" / "reading.musicxml").read_bytes(), "x")
    assert score.clefs == (Clef.TREBLE, Clef.BASS)
    met = meeting(replace(both, pickup=0), 0, 1)
    assert f"A third or sixth on {met.sweet} of {met.strong} strong beats" in told
    assert re.search(r"^The ground, .*: I \| ", told)


@pytest.mark.parametrize(
    ("wish", "told"),
    [
        (["--key", "H", "--metre", "9/9"], ("--key: 'H'", "--metre: ")),
        (["--voices", "changing,baritone", "--step", "p16,r04"], ("in no key does a voice",)),
        (["--measures", "8", "--step", "p01,r01"], ("8 measures do not come at step p01",)),
        (["--metre", "2/4", "--step", "p03,r07"], ("step r07 (half rest) has no place in 2/4",)),
    ],
)
def test_the_command_refuses_with_the_rule(tmp_path, capsys, wish, told):
    assert main(["partners", "--step", "p03,r01", *wish, "--out", str(tmp_path / "x")]) == 2
    said = capsys.readouterr().err
    assert all(each in said for each in told)
    assert not (tmp_path / "x").exists()


def test_lines_at_a_lower_step_and_without_the_newest_metre_say_so():
    low = (Voice.CHANGING, Voice.BARITONE)
    wish = Wish(steps=["p06", "r05"], voice=low[0], metre="4/4", measures=4, seed=3)
    _, remarks = compose_partners(wish, low, 2, content())
    assert [remark.split(":")[0] for remark in remarks] == [
        "The lines are at step p05 (fa by step)",
        "In 4/4 the line is without what is newest at step r05 (3/4, filled by the dotted half).",
    ]


def test_a_voice_that_is_none_is_refused(capsys):
    with pytest.raises(SystemExit):
        main(["partners", "--step", "p03", "--voices", "alto", "--out", "x"])
    assert "'alto' is no voice" in capsys.readouterr().err
