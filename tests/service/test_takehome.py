"""The week to take home: which days, which parts, which sounds."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from bot.activities.choir import Hearing, Presentation, Steps
from bot.errors import Refused
from bot.music.page_options import PageOptions
from tests.fakes.choirs import CHANGING, MONDAY, TREBLE, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services
from tests.fakes.world import NINE, SIX

_STEPS = Steps(pitch="p05", rhythm="r04")
_DAY = timedelta(days=1)


@pytest.fixture
async def clock():
    return FakeClock(SIX)


@pytest.fixture
async def services(tmp_path, clock):
    async with open_services(tmp_path, clock) as found:
        await found.choirs.add(a_choir(steps=_STEPS))
        yield found


async def test_a_week_has_a_sheet_for_every_meeting_day_in_order(services):
    folder = await services.papers.home.week("choir-1")

    assert [sheet.card.on for sheet in folder.sheets] == [MONDAY + n * _DAY for n in range(5)]
    assert folder.monday == MONDAY
    assert folder.without == ()


async def test_the_sheets_are_the_lines_that_the_desk_shows(services):
    folder = await services.papers.home.week("choir-1")

    coming = await services.readings.upcoming("choir-1")
    assert [sheet.card.reading_id for sheet in folder.sheets] == [day.reading_id for day in coming]


async def test_where_the_rhythm_alone_is_read_no_sheet_names_a_key(services):
    choir = await services.choirs.get("choir-1")
    bare = replace(choir.presentation, page=PageOptions(rhythm_only=True))
    await services.choirs.change(replace(choir, voices=(TREBLE, CHANGING), presentation=bare))

    folder = await services.papers.home.week("choir-1")

    parts = [part for sheet in folder.sheets for part in sheet.parts]
    assert {part.own for part in parts} == {None}
    assert all(part.together.picture_name.startswith("The rhythm alone, 4/4, ") for part in parts)


async def test_a_day_off_has_no_sheet(services):
    choir = await services.choirs.get("choir-1")
    off = replace(choir.meeting, days_off=frozenset({MONDAY + _DAY}))
    await services.choirs.change(replace(choir, meeting=off))

    folder = await services.papers.home.week("choir-1")

    assert MONDAY + _DAY not in [sheet.card.on for sheet in folder.sheets]
    assert len(folder.sheets) == 4


async def test_a_day_that_is_over_is_not_drawn_afterwards(services, clock):
    clock.set(NINE + 2 * _DAY)

    folder = await services.papers.home.week("choir-1")

    assert [sheet.card.on for sheet in folder.sheets] == [MONDAY + n * _DAY for n in (2, 3, 4)]


async def test_a_week_with_nothing_to_read_and_one_too_far_ahead_are_refused(services):
    with pytest.raises(Refused) as past:
        await services.papers.home.week("choir-1", MONDAY - 7 * _DAY)
    with pytest.raises(Refused) as far:
        await services.papers.home.week("choir-1", date(2027, 5, 1))

    assert past.value.key == "takehome.empty"
    assert far.value.key == "takehome.far"


async def test_each_part_has_its_clef_and_a_key_of_its_own(services):
    await services.choirs.add(a_choir("mixed", steps=_STEPS, voices=(TREBLE, CHANGING)))

    folder = await services.papers.home.week("mixed", MONDAY)

    high, low = folder.sheets[0].parts
    assert (high.label, low.label) == ("Part I", "Part II")
    assert high.together.key_name == low.together.key_name
    assert high.together.picture != low.together.picture
    assert low.own is not None
    assert low.own.picture != low.together.picture
    assert low.own.words.startswith(low.own.key_spoken)


@pytest.mark.parametrize("hearing", Hearing)
async def test_the_line_itself_goes_home_only_where_singers_may_open_it_themselves(
    services, hearing
):
    choir = await services.choirs.get("choir-1")
    await services.choirs.change(replace(choir, hearing=hearing))

    folder = await services.papers.home.week("choir-1")

    part = folder.sheets[0].parts[0]
    heard = [each.line_sound for each in (part.together, part.own) if each and each.line_sound]
    assert len(heard) == (1 if hearing is Hearing.TRY else 0)


async def test_a_note_that_is_to_be_found_from_do_is_not_given(services):
    choir = await services.choirs.get("choir-1")
    await services.choirs.change(replace(choir, presentation=Presentation(give_pitch=False)))

    folder = await services.papers.home.week("choir-1")

    assert all(sheet.parts[0].together.start_sound is None for sheet in folder.sheets)
    assert all(sheet.parts[0].together.key_sound for sheet in folder.sheets)
