"""What a choir's pages have beside the notes: typed in, kept, engraved, and of one sheet alone."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.errors import InputProblems
from bot.music.page_options import PageOptions, Under
from bot.music.rhythm_names import RhythmNames
from bot.service.card import Arrangement, Media
from bot.service.choir_form import form_of, parse_choir_form
from bot.service.media_requests import media_request
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import SIX, content, open_world

OPTIONS = st.builds(
    PageOptions,
    under=st.sets(st.sampled_from(Under)).map(
        lambda chosen: tuple(u for u in Under if u in chosen)
    ),
    rhythm_names=st.sampled_from(RhythmNames),
    large=st.booleans(),
    one_a_line=st.booleans(),
    rhythm_only=st.booleans(),
    measure_numbers=st.booleans(),
)
MUCH = PageOptions(
    under=(Under.SYLLABLES, Under.RHYTHM), rhythm_names=RhythmNames.DU_DE, large=True
)


def with_page(page, study_s=None):
    choir = a_choir()
    return replace(choir, presentation=replace(choir.presentation, page=page, study_s=study_s))


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(SIX)) as opened:
        yield opened


@settings(max_examples=30, deadline=None)
@given(page=OPTIONS, study_s=st.none() | st.integers(5, 900))
def test_the_form_reads_back_what_it_shows(page, study_s):
    choir = with_page(page, study_s)
    read = parse_choir_form(form_of(choir), content(), choir_id=choir.id, today=choir.starts_on)
    assert read.presentation == choir.presentation


def test_what_is_no_choice_is_a_fault_at_its_field():
    form = form_of(a_choir()) | {"under": ["tabs"], "rhythm_names": ["la-la"], "study_s": ["3"]}
    with pytest.raises(InputProblems) as problems:
        parse_choir_form(form, content(), choir_id="c", today=MONDAY)
    places = {fault.place for fault in problems.value.faults}
    assert places == {"under", "rhythm_names", "study_s"}


async def test_a_choir_keeps_its_page_and_its_clock(world):
    choir = with_page(MUCH, 20)
    await world.services.choirs.add(choir)
    assert (await world.services.choirs.get(choir.id)).presentation == choir.presentation


async def test_every_picture_of_a_reading_follows_the_choirs_page(world):
    choir = with_page(MUCH)
    await world.services.choirs.add(choir)
    reading = await world.assembly.composing.ensure(choir.id, MONDAY)
    for media in (Media.PICTURE, Media.PICTURE_SVG, Media.PHONE_PICTURE):
        asked = media_request(reading, choir, Arrangement.TOGETHER, 0, media)
        assert asked.page == MUCH
        plain = media_request(reading, a_choir(), Arrangement.TOGETHER, 0, media)
        assert plain.page == PageOptions()
        assert asked.digest() != plain.digest()


async def test_changing_the_page_leaves_the_line_as_it_is(world):
    await world.services.choirs.add(a_choir())
    before = await world.assembly.composing.ensure(a_choir().id, MONDAY)
    await world.services.choirs.change(with_page(MUCH))
    after = await world.assembly.composing.ensure(a_choir().id, MONDAY)
    assert after.exercise == before.exercise


async def test_sheets_can_be_written_out_in_a_way_of_their_own(world):
    await world.services.choirs.add(a_choir())
    home = world.services.papers.home
    usual, other = await home.day(a_choir().id, MONDAY), await home.day(a_choir().id, MONDAY, MUCH)
    assert other.choir.presentation.page == MUCH
    assert usual.choir.presentation.page == PageOptions()
    assert (await world.services.choirs.get(a_choir().id)).presentation.page == PageOptions()
