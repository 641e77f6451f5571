"""The substitute's folder: easier, fresh, and read only when the director says so."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.activities.choir import Hearing, Steps
from bot.errors import Refused
from bot.service.sub import lower_steps
from tests.fakes.choirs import BARITONE, MONDAY, TREBLE, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services
from tests.fakes.world import SIX, content

_STEPS = Steps(pitch="p05", rhythm="r04")


@pytest.fixture
async def services(tmp_path):
    async with open_services(tmp_path, FakeClock(SIX)) as found:
        await found.choirs.add(a_choir(steps=_STEPS, hearing=Hearing.NEVER))
        yield found


def _prints(sheets):
    return [sheet.reading.exercise.fingerprint() for sheet in sheets]


def test_one_step_below_is_one_step_in_pitch_and_in_rhythm():
    sequence = content().sequences["steps-first"]

    assert lower_steps(_STEPS, sequence) == ("p04", "r03")
    assert lower_steps(Steps(), sequence) == ("p01", "r01")


async def test_five_sheets_one_step_below_the_choirs(services):
    await services.papers.subs.draw("choir-1")

    sheets = await services.papers.subs.sheets("choir-1")
    assert [sheet.number for sheet in sheets] == [1, 2, 3, 4, 5]
    assert {(each.reading.steps.pitch, each.reading.steps.rhythm) for each in sheets} == {
        ("p04", "r03")
    }
    assert len(set(_prints(sheets))) == 5
    assert {sheet.read_on for sheet in sheets} == {None}


async def test_no_sheet_was_ever_the_choirs_and_none_comes_back_as_a_daily_line(services):
    week = await services.papers.home.week("choir-1")
    await services.papers.subs.draw("choir-1")
    first = _prints(await services.papers.subs.sheets("choir-1"))
    await services.papers.subs.draw("choir-1")
    second = _prints(await services.papers.subs.sheets("choir-1"))

    await services.choirs.change(a_choir(steps=Steps(pitch="p04", rhythm="r03")))
    later = await services.readings.preview("choir-1", MONDAY + timedelta(days=9))

    assert len({*first, *second}) == 10
    assert later.reading_id not in [sheet.card.reading_id for sheet in week.sheets]


async def test_the_folder_stays_the_same_until_new_sheets_are_drawn(services):
    first = await services.papers.subs.folder("choir-1")
    again = await services.papers.subs.folder("choir-1")

    assert [each.card.reading_id for each in first.sheets] == [
        each.card.reading_id for each in again.sheets
    ]
    assert [each.parts[0].own for each in first.sheets] == [None] * 5


async def test_a_sheet_is_read_only_when_the_director_says_so_and_can_be_taken_back(services):
    subs = services.papers.subs
    await subs.draw("choir-1")

    await subs.read("choir-1", 2, was_read=True)
    await subs.read("choir-1", 2, was_read=True)
    said = {sheet.number: sheet.read_on for sheet in await subs.sheets("choir-1")}
    left = await subs.folder("choir-1")
    await subs.read("choir-1", 2, was_read=False)

    assert said == {1: None, 2: MONDAY, 3: None, 4: None, 5: None}
    assert len(left.sheets) == 4
    assert {sheet.read_on for sheet in await subs.sheets("choir-1")} == {None}


async def test_a_sheet_that_was_read_is_no_posting(services):
    await services.papers.subs.draw("choir-1")
    await services.papers.subs.read("choir-1", 1, was_read=True)

    (line,) = (await services.status()).choirs

    assert line.last_on is None
    assert line.next_on == MONDAY
    assert await services.readings.board("choir-1") == ()


async def test_a_sheet_that_is_not_there_is_refused(services):
    with pytest.raises(Refused) as refused:
        await services.papers.subs.read("choir-1", 3, was_read=True)
    assert refused.value.key == "sub.unknown"


@pytest.mark.parametrize("hearing", [Hearing.NEVER, Hearing.DIRECTOR])
async def test_a_substitute_can_let_the_line_be_heard_unless_it_never_is(services, hearing):
    choir = a_choir("mixed", steps=_STEPS, voices=(TREBLE, BARITONE), hearing=hearing, measures=4)
    await services.choirs.add(choir)

    folder = await services.papers.subs.folder("mixed")

    lines = [part.together.line_sound for part in folder.sheets[0].parts]
    assert [bool(line) for line in lines] == [hearing is not Hearing.NEVER, False]


async def test_a_choir_on_its_first_steps_gets_its_own_steps(services):
    await services.choirs.add(a_choir("new", voices=(replace(TREBLE),)))

    await services.papers.subs.draw("new")

    assert len(await services.papers.subs.sheets("new")) == 5
