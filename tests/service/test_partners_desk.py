"""Partner lines for a choir: made in the background, kept whole, put on a day as they were."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.activities.choir import Steps
from bot.activities.way import Way
from bot.errors import InputProblems, NoExercise, Refused
from bot.media.request import Line, SoundRequest
from bot.music.voice import DEFAULT_RANGES, Voice
from bot.service.card import Media
from bot.service.makings import Made
from bot.service.partner_reading import partner_reading
from bot.service.partners_desk import PartnersWish, wish_json
from bot.service.placing import as_read
from tests.fakes.choirs import BARITONE, CHANGING, MONDAY, TREBLE, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, content, open_world
from tests.music.levels import level

WISH = PartnersWish(lines=2, pitch="p03", rhythm="r01", measures=4, seed=3)
ON = MONDAY + timedelta(days=1)


def _choir(*voices, **changes):
    return a_choir(voices=voices or (TREBLE,), steps=Steps(pitch="p03"), **changes)


async def _composed(world, choir, wish=WISH):
    services = world.services
    await services.choirs.add(choir)
    await services.papers.partners.may_compose(choir.id, wish)
    await services.makings.ask(choir.id, Made.PARTNERS, wish_json(wish))
    await services.makings.round()
    return services.papers.partners


async def test_a_set_is_kept_as_it_was_composed_and_goes_on_a_day_as_it_was_looked_at(tmp_path):
    choir = _choir(TREBLE, BARITONE)
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        desk = await _composed(world, choir)
        assert await world.services.makings.of(choir.id, Made.PARTNERS) is None
        kept = await desk.latest(choir.id)
        assert (len(kept.found.lines), kept.steps.pitch) == (2, "p03")
        await desk.use(choir.id, kept.id, (1, 0), ON)
        reading = await world.assembly.composing.ensure(choir.id, ON)
        stack = kept.found.stack((0, 1))
        assert reading.exercise == stack.exercise
        assert (reading.title, reading.pinned) == ("Partner lines 1 and 2", True)
        assert [part.voice for part in reading.parts] == [Voice.TREBLE, Voice.BARITONE]
        for index, voice in enumerate(choir.voices):
            assert all(voice.range.holds(each) for each in as_read(reading, index).pitches())
        line = await world.services.lesson.line(choir.id, reading.id, Way.LINE_BY_LINE)
        assert line.turned.pulses == 3 * 4 * 4
        # Its line is held although the choir goes on to another step.
        await world.services.choirs.change(replace(choir, steps=Steps(pitch="p04")))
        assert (await world.assembly.composing.ensure(choir.id, ON)).id == reading.id
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        desk = world.services.papers.partners
        assert await desk.latest(choir.id) == kept


async def test_voices_that_do_not_reach_the_step_have_the_highest_below_it(tmp_path):
    choir = _choir(CHANGING, BARITONE)
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        desk = await _composed(world, choir, replace(WISH, pitch="p06"))
        kept = await desk.latest(choir.id)
        assert (kept.steps.pitch, kept.asked) == ("p05", "p06")
        sung = {tone for line in kept.found.lines for tone in line.parts[0].tones()}
        assert sung <= set(level("p05").tones)
        for index, voice in enumerate(choir.voices):
            reading = partner_reading(kept, (0, 1), choir, content(), ON, 0)
            assert all(voice.range.holds(each) for each in as_read(reading, index).pitches())


async def test_one_line_is_for_all_voices_in_their_octaves(tmp_path):
    choir = _choir(TREBLE, BARITONE)
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        desk = await _composed(world, choir)
        kept = await desk.latest(choir.id)
        reading = partner_reading(kept, (1,), choir, content(), ON, 0)
        assert reading.exercise == kept.found.lines[1]
        assert [part.line for part in reading.parts] == [0, 0]
        assert [part.do_octave for part in reading.parts] == list(kept.found.do_octaves)
        await desk.preview(choir.id, kept.id, (1,), Media.ALL_SOUND)
        asked = world.media.requests[-1]
        assert isinstance(asked, SoundRequest)
        assert isinstance(asked.sound, Line)


async def test_a_choir_of_one_voice_divides(tmp_path):
    choir = _choir()
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        desk = await _composed(world, choir)
        kept = await desk.latest(choir.id)
        reading = partner_reading(kept, (0, 1), choir, content(), ON, 0)
        assert [part.label for part in reading.parts] == ["Part I", "Part II"]
        assert {part.line for part in reading.parts} == {0, 1}


async def test_what_cannot_be_is_refused_with_its_rule(tmp_path):
    choir = _choir()
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        desk = await _composed(world, choir)
        kept = await desk.latest(choir.id)
        for change, error in (({"lines": 5}, Refused), ({"pitch": "p99"}, InputProblems)):
            with pytest.raises(error):
                await desk.may_compose(choir.id, replace(WISH, **change))
        for asked, key in (
            (("another", (0,)), "partners.changed"),
            ((kept.id, (0, 3)), "partners.unknown"),
            ((kept.id, (7,)), "partners.unknown"),
            ((kept.id, (-1,)), "partners.unknown"),
        ):
            with pytest.raises(Refused) as caught:
                await desk.use(choir.id, *asked, ON)
            assert caught.value.key == key
        low = replace(TREBLE, range=DEFAULT_RANGES[Voice.BARITONE])
        for voices in ((TREBLE, BARITONE), (low,)):
            with pytest.raises(Refused) as caught:
                partner_reading(kept, (0, 1), replace(choir, voices=voices), content(), ON, 0)
            assert caught.value.key == "partners.voices"


async def test_a_set_that_there_is_not_says_why_on_its_page(tmp_path, monkeypatch):
    monkeypatch.setattr("bot.music.partner_set._TRIES", 1)
    choir = _choir()
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        few = replace(WISH, lines=4, pitch="p01")
        desk = await _composed(world, choir, few)
        making = await world.services.makings.of(choir.id, Made.PARTNERS)
        assert isinstance(making.fault, NoExercise)
        assert making.fault.key == "refusal.partner_set"
        assert await desk.latest(choir.id) is None
