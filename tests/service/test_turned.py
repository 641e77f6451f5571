"""A reading read another way: what is sung, when each sign comes, what is new."""

from dataclasses import replace
from fractions import Fraction

import pytest

from bot.activities.choir import Steps
from bot.activities.way import Way, ways_for
from bot.errors import Refused
from bot.music.exercise import Note
from bot.music.page_options import PageOptions, Under
from bot.music.turns import echo_halves, line_by_line, only_tone, retrograde, rhythm_only
from bot.service.lesson_line import StageMedia, stage_request
from bot.service.turned import in_way, page_choir, turned_reading
from tests.fakes.choirs import a_choir, a_reading
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, content, open_world
from tests.music.lines import line

LINE = line("do:q re:q mi:h | fa:q re:q do:h")


def turned(way, exercise=LINE, **changes):
    sequence = content().sequences["steps-first"]
    reading = replace(a_reading(), exercise=exercise)
    return turned_reading(reading, way, a_choir(**changes), sequence, content().wording)


@pytest.mark.parametrize(
    ("way", "sung"),
    [
        (Way.PLAIN, LINE),
        (Way.CURTAIN, LINE),
        (Way.HIDDEN_MEASURES, LINE),
        (Way.RETROGRADE, retrograde(LINE)),
        (Way.RHYTHM_ONLY, rhythm_only(LINE)),
        (Way.ONLY_DO, only_tone(LINE, LINE.parts[0].notes[0].tone)),
        (Way.ECHO_HALVES, echo_halves(LINE)),
    ],
)
def test_each_way_sings_its_turn_of_the_line(way, sung):
    found = turned(way)
    assert found.sung.exercise == sung
    assert found.pulses == sung.length * 4


@pytest.mark.parametrize("way", [each for each in Way if each is not Way.RHYTHM_ONLY])
def test_the_page_is_the_days_own_whatever_is_sung(way):
    reading = replace(a_reading(), exercise=LINE)
    assert in_way(reading, StageMedia.PICTURE, way) == reading


@pytest.mark.parametrize("way", ways_for(1))
def test_signs_come_one_after_the_other_and_fill_what_is_sung(way):
    found = turned(way)
    at = 0.0
    for sign in found.page[0]:
        assert sign.at == at
        at += sign.length
    assert at == found.pulses


def test_in_an_echo_each_half_of_the_page_comes_twice():
    assert [sign.number for sign in turned(Way.ECHO_HALVES).page[0]] == [0, 1, 2] * 2 + [
        3,
        4,
        5,
    ] * 2


def _two_lines():
    other = line("mi:h so:h | la:h mi:h")
    parts = (LINE.parts[0], other.parts[0])
    own = a_reading().parts[0]
    both = (own, replace(own, label="Part II", line=1))
    return replace(a_reading(), exercise=replace(LINE, parts=parts), parts=both)


def test_line_by_line_each_is_sung_by_itself_and_then_both():
    reading = _two_lines()
    found = turned_reading(reading, Way.LINE_BY_LINE, a_choir(), None, content().wording)
    assert found.pulses == 3 * 8
    first, second = ([s.at for s in found.page[0] if s.part == part] for part in (0, 1))
    assert first == [0, 1, 2, 4, 5, 6, 16, 17, 18, 20, 21, 22]
    assert second == [8, 10, 12, 14, 16, 18, 20, 22]
    alone, rest = reading.exercise, Note(duration=Fraction(2))
    assert [part.notes for part in found.sung.exercise.parts] == [
        (*alone.parts[0].notes, rest, *alone.parts[0].notes),
        (rest, *alone.parts[1].notes, *alone.parts[1].notes),
    ]
    assert in_way(reading, StageMedia.PICTURE, Way.LINE_BY_LINE) == reading


def test_words_are_sung_each_time_their_line_is():
    reading = _two_lines()
    parts = tuple(
        replace(part, words=tuple("la" for _ in part.tones())) for part in reading.exercise.parts
    )
    sung = line_by_line(replace(reading.exercise, parts=parts))
    assert [len(part.words) for part in sung.parts] == [12, 8]


def test_one_line_is_not_read_line_by_line():
    assert Way.LINE_BY_LINE not in ways_for(1)
    assert ways_for(2) == tuple(Way)
    with pytest.raises(Refused) as caught:
        turned(Way.LINE_BY_LINE)
    assert caught.value.key == "way.no_lines"


def test_only_the_way_back_has_a_page_of_its_own_to_answer():
    assert [way for way in ways_for(1) if turned(way).answer] == [Way.RETROGRADE]


def test_the_same_measures_of_a_line_are_hidden_each_time():
    eight = line(" | ".join(["do:q re:q mi:q do:q"] * 8))
    hidden = turned(Way.HIDDEN_MEASURES, eight).hidden
    assert hidden
    assert turned(Way.HIDDEN_MEASURES, eight).hidden == hidden
    assert turned(Way.PLAIN, eight).hidden == ()


def test_on_the_way_back_a_new_tone_is_named_and_a_known_one_is_not():
    assert "the tone fa" in turned(Way.RETROGRADE).new
    late = Steps(pitch="p19", rhythm="r10", voice="v01")
    assert turned(Way.RETROGRADE, steps=late).new == ()


def test_a_line_without_a_do_has_no_do_to_sing():
    with pytest.raises(Refused, match=r"way\.no_do"):
        turned(Way.ONLY_DO, line("re:q mi:q re:h"))


async def test_another_line_for_the_way_back_keeps_every_rule_from_the_right_too(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        await world.services.choirs.add(a_choir(steps=Steps(pitch="p06", rhythm="r04")))
        lesson = world.services.lesson
        first = (await lesson.line("choir-1")).card.reading_id
        for _ in range(4):
            fresh = await lesson.another("choir-1", first, Way.RETROGRADE)
            line_ = await lesson.line("choir-1", fresh, Way.RETROGRADE)
            assert line_.turned.new == ()
            sung, page = line_.turned.sung.exercise, line_.turned.page[0]
            assert sung.parts[0].tones()[0] == sung.parts[0].tones()[-1]
            assert page[0].number == max(sign.number for sign in page)


async def test_where_no_line_goes_both_ways_any_other_comes(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        parts = Steps(pitch="p06", rhythm="r04", voice="v03")
        await world.services.choirs.add(a_choir(steps=parts))
        lesson = world.services.lesson
        first = (await lesson.line("choir-1")).card.reading_id
        assert await lesson.another("choir-1", first, Way.RETROGRADE) != first


def test_rhythm_alone_is_read_from_a_page_of_one_line_without_names_of_tones():
    page = PageOptions(under=(Under.SYLLABLES, Under.RHYTHM))
    choir = a_choir(presentation=replace(a_choir().presentation, page=page))
    reading = replace(a_reading(), exercise=LINE)
    for way in ways_for(1):
        shown = page_choir(choir, way)
        there = in_way(reading, StageMedia.PICTURE, way)
        wanted = stage_request(there, shown, 0, StageMedia.PICTURE, 0, None)
        bare = way is Way.RHYTHM_ONLY
        assert wanted.page.rhythm_only is bare
        assert wanted.page.under == ((Under.RHYTHM,) if bare else page.under)


async def test_the_stage_asks_for_one_line_where_rhythm_alone_is_read(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        await world.services.choirs.add(a_choir())
        lesson = world.services.lesson
        shown = (await lesson.line("choir-1", way=Way.RHYTHM_ONLY)).card.reading_id
        before = len(world.media.requests)
        await lesson.media(shown, 0, StageMedia.PICTURE, 0, None, Way.RHYTHM_ONLY)
        (wanted,) = world.media.requests[before:]
    assert wanted.page.rhythm_only


def test_words_go_from_the_right_alone_and_it_is_said():
    words = ("Lan-", "terns", "glow", "a-", "long", "it")
    sung = replace(LINE, parts=(replace(LINE.parts[0], words=words),))
    for way in ways_for(1):
        assert turned(way, sung).wordless is (way is Way.RETROGRADE)
        assert not turned(way).wordless
    assert turned(Way.RHYTHM_ONLY, sung).sung.exercise.parts[0].words == words
