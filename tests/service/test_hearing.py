"""The hearing sheet: equal lines on paper, boxes to tick, nothing kept."""

import numpy as np
import pypdfium2
import pytest

from bot.cli import main
from bot.errors import InputProblems, NoExercise
from bot.media.render import make
from bot.music import hearing
from bot.music.checker import check
from bot.music.level import level_of
from bot.music.load import load_of
from bot.music.needs import needs
from bot.music.voice import DEFAULT_RANGES, Voice
from bot.service.content import load_content
from bot.service.hearing import (
    HearingWish,
    hearing_lines,
    hearing_remarks,
    line_requests,
    printed_hearing,
)
from tests.fakes.world import CONTENT


@pytest.fixture(scope="module")
def content():
    return load_content([CONTENT])


@pytest.fixture
def quick(monkeypatch):
    """Fewer lines to choose from, where it does not matter how equal they are."""
    monkeypatch.setattr(hearing, "_FEW", 2)
    monkeypatch.setattr(hearing, "_SPARE", 1)


def wish(*steps, count=6, voice=Voice.TREBLE, **more):
    return HearingWish(steps=steps or ("p05", "r09"), voice=voice, count=count, **more)


@pytest.mark.parametrize(
    ("steps", "voice"),
    [(("p02", "r01"), Voice.TREBLE), (("p08", "r04"), Voice.BARITONE)],
)
def test_all_lines_are_different_and_equally_hard(content, steps, voice):
    found = hearing_lines(wish(*steps, voice=voice), content)
    assert len({line.fingerprint() for line in found.lines}) == 6
    assert len({(line.key, line.metre, line.measures) for line in found.lines}) == 1
    assert found.lines[0].measures == 4
    assert found.spread <= 0.15
    sequence = content.sequences["steps-first"]
    assert found.loads == tuple(load_of(line, sequence) for line in found.lines)


def test_every_line_keeps_the_rules_of_its_step_and_range(content, quick):
    sequence = content.sequences["steps-first"]
    level = level_of(sequence, ("p05", "r09"))
    for line in hearing_lines(wish(count=4), content).lines:
        assert check(line, level, DEFAULT_RANGES[Voice.TREBLE]) == ()
        assert needs(line, sequence).pitch == "p05"


def test_the_same_seed_gives_the_same_lines_and_another_others(content, quick):
    one, same, other = (hearing_lines(wish(count=2, seed=seed), content) for seed in (1, 1, 2))
    assert one == same
    assert one.lines != other.lines


def test_wishes_that_cannot_be_are_told_all_at_once(content):
    with pytest.raises(InputProblems) as problems:
        hearing_lines(wish("p99", count=0, key="H", metre="4/5"), content)
    places = {fault.place for fault in problems.value.faults}
    assert places == {"--count", "--key", "--metre", "p99"}


@pytest.mark.parametrize(
    ("steps", "metre", "rule"),
    [
        ("p05 r09", "6/8", "refusal.metre"),
        ("p05 r07", "2/4", "refusal.new_in_metre"),
        ("p05 r08", None, "refusal.new_in_lines"),
    ],
)
def test_a_wish_that_leaves_no_line_is_refused_with_its_rule(content, steps, metre, rule):
    with pytest.raises(NoExercise) as refusal:
        hearing_lines(wish(*steps.split(), metre=metre), content)
    assert refusal.value.key == rule


def test_a_metre_without_the_newest_thing_is_said(content, quick):
    for metre, said in (("4/4", 1), ("3/4", 0)):
        asked = wish("p05", "r05", metre=metre, count=2)
        remarks = hearing_remarks(hearing_lines(asked, content), asked, content)
        assert len(remarks) == said


def test_the_sheet_has_lines_to_hand_out_and_boxes_for_pitch_rhythm_and_flow(content, quick):
    found = hearing_lines(wish(count=7), content)
    drawn = [make(request).decode() for request in line_requests(found, wish())]
    document = pypdfium2.PdfDocument(printed_hearing(found, drawn, content.wording))
    texts = [page.get_textpage().get_text_range() for page in document]
    assert len(texts) == 1 + 2 + 2  # how it goes; five and two lines; four and three with boxes
    assert "Take care" in texts[0]
    assert "within" in texts[0]
    assert "keeps nothing" in texts[0]
    assert [text.count("starts on") for text in texts] == [0, 5, 2, 0, 0]
    assert [text.count("rhythm\r\n") for text in texts[3:]] != [0, 0]
    assert [text.count("measure 4") for text in texts] == [0, 0, 0, 4, 3]
    for page in document:
        grey = page.render(scale=1).to_numpy().min(axis=2)
        assert (grey < 120).sum() > 800
        rows = np.flatnonzero((grey < 200).any(axis=1))
        assert rows[-1] < grey.shape[0] - 30  # nothing runs off the paper


def test_the_command_writes_the_sheet(tmp_path, capsys, quick):
    out = tmp_path / "sheet.pdf"
    wished = ["hearing", "--step", "p03", "--voice", "changing", "--out", str(out)]
    assert main([*wished, "--count", "3"]) == 0
    assert out.read_bytes().startswith(b"%PDF")
    assert main([*wished, "--count", "600"]) == 2
    assert "from 1 to 60" in capsys.readouterr().err
