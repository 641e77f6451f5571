"""A set of partner lines: each line, any two and any three of them, judged by music21 too."""

from dataclasses import replace
from itertools import combinations

import pytest

from bot.errors import NoExercise
from bot.music.checker import check
from bot.music.level import any_climax
from bot.music.partner_set import partner_set
from bot.music.partners import check_partners, meeting
from bot.music.rhythm import Metre
from bot.music.step import Track
from bot.music.voice import DEFAULT_RANGES, Voice
from tests.music.levels import level, steps_first
from tests.music.lines import line
from tests.music.test_partners import dissonant
from tests.music.together import parallels

_TREBLE, _BARITONE = DEFAULT_RANGES[Voice.TREBLE], DEFAULT_RANGES[Voice.BARITONE]


def _judge(found, count, at, ranges):
    at = any_climax(at)  # lines that are sung together need no high point
    assert len({each.fingerprint() for each in found.lines}) == count
    assert {each.chosen for each in found.pairs} == set(combinations(range(count), 2))
    home = at.conditions.end
    for each in found.lines:
        end = each.parts[0].tones()[-1]
        near = tuple(tone for tone in at.tones if abs(tone.step - end.step) == 1)
        asked = replace(at, pitch_focus=None) if found.less_new else at
        if end != home:
            conditions = replace(at.conditions, end=end, cadence=near)
            asked = replace(asked, conditions=conditions)
            assert end.step - home.step in (2, 4)
        assert check(each, asked, ranges[0]) == ()
        for voice, octave in zip(ranges, found.do_octaves, strict=True):
            alone = each.in_key(each.key, (octave,))
            assert all(voice.holds(pitch) for pitch in alone.pitches())
    for stack in (*found.pairs, *found.triples):
        limits = [ranges[singers[0]] for singers in stack.singers]
        assert check_partners(stack.exercise, limits) == ()
        assert parallels(stack.exercise) == []
        assert dissonant(stack.exercise) == []
        for part, number in zip(stack.exercise.parts, stack.lines, strict=True):
            assert part.notes == found.lines[number].parts[0].notes
    for stacks in (found.pairs, found.triples):
        assert [each.worth for each in stacks] == sorted(
            (each.worth for each in stacks), reverse=True
        )


def _on_the_ground(found):
    """Strong beats of the first line whose tone is not of the ground's chord."""
    first, ground = found.lines[0], found.ground
    for offset, note in first.parts[0].timed():
        measure, inside = divmod(offset, first.metre.measure)
        if note.tone is not None and first.metre.strength(inside) >= 2:
            root = ground.root(int(measure), inside)
            if (note.tone.step - root) % 7 not in (0, 2, 4):
                yield offset


def test_two_lines_go_together_in_a_room_of_one_voice_and_of_two():
    at = level("p03", "r01")
    for ranges in ((_TREBLE,), (_TREBLE, _BARITONE)):
        found = partner_set(at, ranges, 2, measures=4, seed=1)
        _judge(found, 2, at, ranges)
        assert list(_on_the_ground(found)) == []
        assert partner_set(at, ranges, 2, measures=4, seed=1) == found


def test_of_three_lines_any_two_and_all_three_go_together():
    found = partner_set(level("p05", "r01"), (_TREBLE,), 3, measures=4, seed=2)
    _judge(found, 3, level("p05", "r01"), (_TREBLE,))
    assert [each.chosen for each in found.triples] == [(0, 1, 2)]
    assert found.stack((2, 0)).chosen == (0, 2)


def test_no_line_that_was_read_comes_again():
    first = partner_set(level("p01", "r01"), (_TREBLE,), 2, seed=1)
    longer = line("do:h re:h | mi:h do:h | re:h mi:h | re:h re:h | do:w")
    seen = (first.pairs[0].exercise, longer)
    second = partner_set(level("p01", "r01"), (_TREBLE,), 2, seed=1, seen=seen)
    prints = [{each.fingerprint() for each in found.lines} for found in (first, second)]
    assert prints[0].isdisjoint(prints[1])


def test_a_wish_that_cannot_be_met_is_refused_by_its_rule(monkeypatch):
    monkeypatch.setattr("bot.music.partner_set._TRIES", 1)
    three = (_TREBLE, DEFAULT_RANGES[Voice.CHANGING], _BARITONE)
    for wish, rule in (
        ({"ranges": three, "at": level("p08", "r04")}, "refusal.in_no_key"),
        ({"metre": Metre(beats=3, unit=4)}, "refusal.metre"),
        ({"measures": 8}, "refusal.measures"),
        ({"count": 4}, "refusal.partner_set"),
    ):
        asked = {"at": level("p01", "r01"), "ranges": (_TREBLE,), "count": 2, **wish}
        with pytest.raises(NoExercise) as caught:
            partner_set(asked.pop("at"), asked.pop("ranges"), asked.pop("count"), **asked, seed=1)
        assert caught.value.key == rule
    with pytest.raises(ValueError, match="sets of 2 to 4"):
        partner_set(level("p01", "r01"), (_TREBLE,), 5, seed=1)


def test_how_two_lines_meet_is_counted_as_a_hand_counts():
    both = line("so:h mi:q fa:q | so:h do:h")
    both = replace(both, parts=(both.parts[0], line("do:h do:h | mi:h do:h").parts[0]))
    met = meeting(both, 0, 1)
    # so over do a fifth, mi over do and so over mi a third, do over do a unison; fa is weak.
    assert (met.strong, met.sweet, met.unisons, met.places) == (4, 2, 1, 5)
    # mi to fa to so over do, do, mi: the first and second moves find do waiting.
    assert (met.moves, met.alone, met.against) == (4, 2, 0)


@pytest.mark.long
@pytest.mark.parametrize("step", [each.id for each in steps_first().track(Track.PITCH)])
def test_every_step_of_pitch_has_pairs(step):
    at = level(step, "r04") if step >= "p03" else level(step, "r01")
    for seed in range(3):
        _judge(partner_set(at, (_TREBLE,), 2, seed=seed), 2, at, (_TREBLE,))
