"""Telling a story: each call kept whole, ballots gone with the close, at home by itself."""

from datetime import datetime, time, timedelta

import pytest

from bot.activities.story_music import FinaleMusic, SceneLine, SetStory
from bot.activities.story_run import (
    Advanced,
    Chosen,
    Ended,
    Paused,
    Phase,
    Resumed,
    Venue,
    VoteClosed,
    VoteOpened,
)
from bot.activities.vote import Margin, of_hands
from bot.errors import Refused
from bot.privacy.approval import Activity
from bot.service.story_votes import StoryVotes
from bot.service.tellings import Tellings
from tests.fakes.choirs import MONDAY, a_choir, an_exercise
from tests.fakes.clock import FakeClock
from tests.fakes.stories import STORY
from tests.fakes.world import NINE, open_world
from tests.service.seated import rows_of, seated

TUESDAY = MONDAY + timedelta(days=1)
_VOTES = frozenset({Activity.TAPS, Activity.VOTES})


def _line(number):
    music = an_exercise(0, 1, 2, number, 1, 2)
    octave = music.parts[0].do_octave
    return SceneLine(exercise=music, singers=((0,),), do_octaves=((octave,),))


_LINES = {"yard": _line(1), "loft": _line(2), "pond": _line(3)}
_FINALE = FinaleMusic(
    exercise=_LINES["loft"].exercise,
    scenes=("loft",),
    singers=((0,),),
    do_octaves=_LINES["loft"].do_octaves,
)
SET = SetStory(story=STORY, lines=_LINES, finales={("yard", "loft", "end"): _FINALE})


class House:
    """Tellings over the real store, of one story that is set already."""

    def __init__(self, world):
        self.world = world
        parts = {
            "database": world.database,
            "choirs": world.services.choirs,
            "approvals": world.services.seating.approvals,
            "clock": world.clock,
            "changes": world.assembly.changes,
        }
        self.tellings = Tellings(
            **parts,
            content=world.services.content,
            setting=lambda story_id, choir, _said: f"{story_id} for {choir.name}",
            frozen=lambda source: SET,
        )
        self.votes = StoryVotes(**parts, tellings=self.tellings)

    async def begin(self, venue=Venue.CLASS, **more):
        await self.tellings.begin("choir-1", "mill", venue, **more)

    async def call(self, event):
        return (await self.tellings.call("choir-1", event)).run

    async def now(self):
        told = await self.tellings.now("choir-1")
        return told and told.run


@pytest.fixture
async def house(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        yield House(world)


@pytest.fixture
async def a_class(house):
    await house.world.services.choirs.add(a_choir())
    await house.begin()
    return house


def at(day, hour):
    return datetime.fromisoformat(f"{day}T{hour:02}:00:00-04:00")


async def test_a_story_goes_through_a_class_without_any_seat(a_class):
    await a_class.call(VoteOpened())
    await a_class.call(VoteClosed(outcome=of_hands((12, 9))))
    run = await a_class.call(Advanced(on=MONDAY))
    assert (run.scene, run.phase) == ("loft", Phase.TELLING)
    await a_class.call(Chosen(path=1))
    run = await a_class.call(Advanced(on=MONDAY))
    assert run.scenes == ("yard", "loft", "end")
    assert (await a_class.call(Ended())).phase is Phase.ENDED
    assert await a_class.now() is None
    (past,) = await a_class.tellings.past("choir-1")
    assert past.run.scenes == ("yard", "loft", "end")
    assert await rows_of(a_class.world.database, "story_ballots") == []


async def test_what_was_acknowledged_is_there_for_another_run_of_the_program(a_class):
    await a_class.call(Chosen(path=1))
    again = House(a_class.world)
    assert (await again.now()).path == 1


async def test_a_call_out_of_order_leaves_nothing_behind(a_class):
    with pytest.raises(Refused, match="out_of_order"):
        await a_class.call(Advanced(on=MONDAY))
    assert len(await rows_of(a_class.world.database, "story_events")) == 1


async def test_one_call_is_undone_at_a_time(a_class):
    await a_class.call(Chosen(path=1))
    await a_class.call(Advanced(on=MONDAY))
    assert (await a_class.tellings.undo("choir-1")).run.phase is Phase.CHOSEN
    told = await a_class.tellings.undo("choir-1")
    assert (told.run.phase, told.may_undo) == (Phase.TELLING, False)


async def test_a_story_goes_on_another_day(a_class):
    await a_class.call(Paused())
    a_class.world.clock.set(at(TUESDAY, 9))
    run = await a_class.call(Resumed(on=TUESDAY))
    assert (run.scene, run.scene_on) == ("yard", TUESDAY)


async def test_one_story_at_a_time(a_class):
    with pytest.raises(Refused, match="already"):
        await a_class.begin()


async def test_a_scene_s_line_is_one_reading_however_often_it_is_asked_for(a_class):
    first = await a_class.tellings.reading("choir-1")
    assert await a_class.tellings.reading("choir-1") == first
    line = await a_class.world.services.lesson.line("choir-1", first)
    assert line.card.own_music_title == "The mill"
    kept = await a_class.world.assembly.composing.find(first)
    assert kept.exercise == _LINES["yard"].exercise


async def test_the_finale_is_the_one_of_the_way_that_was_walked(a_class):
    assert await a_class.tellings.finale("choir-1") is None
    for path in (0, 1):
        await a_class.call(Chosen(path=path))
        await a_class.call(Advanced(on=MONDAY))
    finale = await a_class.tellings.finale("choir-1")
    kept = await a_class.world.assembly.composing.find(finale)
    assert kept.exercise == _FINALE.exercise
    assert await a_class.tellings.reading("choir-1") is None


async def test_at_home_nothing_begins_without_an_approval_of_votes(house):
    await seated(house.world)
    with pytest.raises(Refused, match="no_votes"):
        await house.begin(Venue.HOME)


@pytest.fixture
async def a_home(house):
    await seated(house.world, 12, activities=_VOTES)
    await house.begin(Venue.HOME, closes=time(20), quorum=3)
    await house.votes.round()
    return house


async def _seats(house):
    return [s.id for s in await house.world.services.seating.seats.of_choir("choir-1")]


async def test_each_seat_has_one_ballot_until_the_close(a_home):
    one, *others = await _seats(a_home)
    assert (await a_home.votes.ballot(one)).path is None
    await a_home.votes.vote(one, 0)
    await a_home.votes.vote(one, 1)
    assert (await a_home.votes.ballot(one)).path == 1
    for seat in others:
        await a_home.votes.vote(seat, 1)
    a_home.world.clock.set(at(MONDAY, 20))
    with pytest.raises(Refused, match="no_vote"):
        await a_home.votes.vote(one, 0)
    await a_home.votes.round()
    run = await a_home.now()
    assert (run.path, run.outcome.counts) == (1, (0, 12))
    assert await rows_of(a_home.world.database, "story_ballots") == []


async def test_my_data_holds_my_vote_until_the_close(a_home):
    one, *_ = await _seats(a_home)
    rights = a_home.world.services.seating.rights
    await a_home.votes.vote(one, 1)
    assert (await rights.copy_of(one))["votes"] == [2]
    a_home.world.clock.set(at(MONDAY, 20))
    await a_home.votes.round()
    assert (await rights.copy_of(one))["votes"] == []


async def test_few_ballots_leave_no_count_anywhere(a_home):
    for seat in (await _seats(a_home))[:6]:
        await a_home.votes.vote(seat, 0)
    a_home.world.clock.set(at(MONDAY, 21))
    await a_home.votes.round()
    assert (await a_home.now()).outcome.counts is None
    assert (await a_home.now()).outcome.margin is Margin.CLEAR
    journal = [row[3] for row in await rows_of(a_home.world.database, "story_events")]
    assert not any("6" in event for event in journal if "outcome" in event)


async def test_under_the_quorum_the_director_settles_it(a_home):
    await a_home.votes.vote((await _seats(a_home))[0], 1)
    a_home.world.clock.set(at(MONDAY, 21))
    await a_home.votes.round()
    assert (await a_home.now()).phase is Phase.QUESTION
    await a_home.call(Chosen(path=0))
    a_home.world.clock.set(at(TUESDAY, 9))
    await a_home.votes.round()
    assert ((await a_home.now()).scene, (await a_home.now()).phase) == ("loft", Phase.VOTING)


async def test_a_vote_can_be_closed_before_its_time_and_taken_back_without_its_ballots(a_home):
    for seat in (await _seats(a_home))[:4]:
        await a_home.votes.vote(seat, 1)
    told = await a_home.votes.close_vote("choir-1")
    assert told.run.path == 1
    await a_home.tellings.undo("choir-1")
    await a_home.votes.round()
    assert (await a_home.now()).phase is Phase.VOTING
    assert (await a_home.votes.ballot((await _seats(a_home))[0])).path is None


async def test_an_approval_that_ends_ends_the_votes(a_home):
    seat = (await _seats(a_home))[0]
    await a_home.votes.vote(seat, 0)
    (line,) = await a_home.world.services.seating.approvals.lines()
    await a_home.world.services.seating.approvals.take_away(line.sheet_id)
    assert await a_home.votes.ballot(seat) is None
    with pytest.raises(Refused, match="no_vote"):
        await a_home.votes.vote(seat, 0)


async def test_a_path_that_is_not_there_gets_no_ballot(a_home):
    seat = (await _seats(a_home))[0]
    for path in (-1, 2):
        with pytest.raises(Refused, match="no_vote"):
            await a_home.votes.vote(seat, path)


async def test_the_next_moment_is_the_close_and_then_the_next_day(a_home):
    assert await a_home.votes.round() == at(MONDAY, 20)
    a_home.world.clock.set(at(MONDAY, 20))
    soon = await a_home.votes.round()
    assert soon == at(TUESDAY, 0)
