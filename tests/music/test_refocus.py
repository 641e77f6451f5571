"""Coming back to an earlier step: what a line then has at least, and what is left alone."""

import pytest

from bot.errors import InputProblems
from bot.music.checker import check
from bot.music.composer import compose
from bot.music.level import level_of
from bot.music.needs import needs
from bot.music.refocus import refocused
from bot.music.room_lines import room_plans
from bot.music.variants import together
from bot.music.voice import DEFAULT_RANGES, Voice
from tests.music.levels import steps_first

_S = steps_first()
_RANGES = (DEFAULT_RANGES[Voice.TREBLE],)


@pytest.mark.parametrize("step", ["p03", "p04", "r02", "r03"])
def test_lines_have_the_earlier_thing_as_often_as_its_step_asks(step):
    level = refocused(level_of(_S, ("p05", "r04")), _S, (step,))
    placement = together(level, _RANGES, None)
    focus = _S.step(step).focus
    for seed in range(12):
        line = compose(level, placement, _RANGES, measures=8, seed=seed)
        assert check(line, level, _RANGES[0]) == ()
        found = sum(atom.step == step for atom in needs(line, _S).atoms)
        assert found >= focus


def test_a_line_with_companions_comes_back_too():
    level = refocused(level_of(_S, ("p09", "r04")), _S, ("p05", "r03"))
    ranges = (DEFAULT_RANGES[Voice.CHANGING], DEFAULT_RANGES[Voice.BARITONE])
    plan = room_plans(_S, level, ranges, None)[0]
    assert plan.lines[0].level == level
    assert {line.level.rhythm_focus.step for line in plan.lines} == {"r03"}


def test_all_else_of_the_level_stays():
    level = level_of(_S, ("p05", "r04"))
    back = refocused(level, _S, ("p03", "r02"))
    assert (back.pitch_focus.step, back.rhythm_focus.step) == ("p03", "r02")
    assert (back.tones, back.skips, back.cells, back.steps) == (
        level.tones,
        level.skips,
        level.cells,
        level.steps,
    )


def test_what_the_level_does_not_have_changes_nothing():
    level = level_of(_S, ("p03", "r02"))
    assert refocused(level, _S, ("p06",)) == level
    assert refocused(level, _S, ("r08",)) == level
    assert refocused(level, _S, ("p01", "v01")) == level
    assert refocused(level, _S, ()) == level


def test_an_unknown_step_is_told():
    with pytest.raises(InputProblems):
        refocused(level_of(_S, ("p03",)), _S, ("p99",))
