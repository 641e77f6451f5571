"""The loop: at the hour, over restarts and clock changes, and no choir waits for another."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest

from bot.activities.calendar import Meeting, Rotation, Weekdays
from bot.activities.choir import Steps
from bot.errors import RenderFailed
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.surface import FakeSurface
from tests.fakes.world import EIGHT, NINE, SIX, open_world, running, settled

CHOIR = a_choir()
DAY = timedelta(days=1)
MINUTE = timedelta(minutes=1)


@pytest.fixture
def surface():
    return FakeSurface("room")


def days(surface):
    return [key.split(".")[1][5:] for key in surface.keys]


async def test_a_line_goes_up_at_its_hour_and_not_a_minute_before(tmp_path, surface):
    clock = FakeClock(SIX)
    async with running(tmp_path, clock, surface) as world:
        await world.services.choirs.add(CHOIR)
        await settled(world)

        await clock.to(EIGHT - MINUTE)
        early = days(surface)
        await clock.to(EIGHT)

    assert (early, days(surface)) == ([], ["09-14"])


async def test_a_week_goes_by_itself(tmp_path, surface):
    clock = FakeClock(SIX)
    off = Meeting(
        pattern=Weekdays(days=frozenset(range(5))), days_off=frozenset({date(2026, 9, 16)})
    )
    async with running(tmp_path, clock, surface) as world:
        await world.services.choirs.add(replace(CHOIR, meeting=off))
        await settled(world)

        await clock.advance(8 * DAY + timedelta(hours=3))

    assert days(surface) == ["09-14", "09-15", "09-17", "09-18", "09-21", "09-22"]


async def test_a_rotation_goes_by_itself(tmp_path, surface):
    clock = FakeClock(SIX)
    a_days = Meeting(pattern=Rotation(length=2, meets_on=frozenset({1}), anchor=MONDAY))
    async with running(tmp_path, clock, surface) as world:
        await world.services.choirs.add(replace(CHOIR, meeting=a_days))
        await settled(world)

        await clock.advance(8 * DAY + timedelta(hours=3))

    assert days(surface) == ["09-14", "09-16", "09-18", "09-22"]


async def test_a_restart_in_the_middle_changes_nothing(tmp_path, surface):
    clock = FakeClock(SIX)
    async with running(tmp_path, clock, surface) as world:
        await world.services.choirs.add(CHOIR)
        await settled(world)
        await clock.to(NINE)

    async with running(tmp_path, clock, surface):
        await clock.advance(DAY)

    assert days(surface) == ["09-14", "09-15"]


async def test_a_laptop_opened_late_posts_the_same_day(tmp_path, surface):
    clock = FakeClock(SIX)
    async with open_world(tmp_path, clock, surface) as world:
        await world.services.choirs.add(CHOIR)
    late = datetime(2026, 9, 15, 3, 59, tzinfo=UTC)  # a minute to midnight in New York
    clock.set(late)

    async with running(tmp_path, clock, surface):
        pass

    assert days(surface) == ["09-14"]


async def test_a_laptop_opened_the_next_day_has_missed_one_and_says_so(tmp_path, surface):
    clock = FakeClock(SIX)
    async with open_world(tmp_path, clock, surface) as world:
        await world.services.choirs.add(CHOIR)
    clock.set(datetime(2026, 9, 15, 4, 0, tzinfo=UTC))

    async with running(tmp_path, clock, surface) as world:
        await clock.to(datetime(2026, 9, 15, 12, 0, tzinfo=UTC))
        status = await world.services.status()

    assert days(surface) == ["09-15"]
    assert status.choirs[0].missed == (MONDAY,)


async def test_holidays_and_weekends_are_not_missed(tmp_path, surface):
    friday, monday = date(2026, 9, 18), date(2026, 9, 21)
    clock = FakeClock(datetime(2026, 9, 18, 10, 0, tzinfo=UTC))
    off = Meeting(pattern=Weekdays(days=frozenset(range(5))), days_off=frozenset({monday}))
    async with open_world(tmp_path, clock, surface) as world:
        await world.services.choirs.add(replace(CHOIR, meeting=off))
    clock.set(datetime(2026, 9, 22, 10, 0, tzinfo=UTC))

    async with running(tmp_path, clock, surface) as world:
        status = await world.services.status()

    assert status.choirs[0].missed == (friday,)


@pytest.mark.parametrize(
    ("zone", "first", "post_at", "hours"),
    [
        # New York skips 02:00-03:00 on the 8th of March 2026: half past two is three o'clock.
        ("America/New_York", date(2026, 3, 7), time(2, 30), ["07:30", "07:00", "06:30"]),
        # It has 01:00-02:00 twice on the first of November: the first of the two counts.
        ("America/New_York", date(2026, 10, 31), time(1, 30), ["05:30", "05:30", "06:30"]),
        ("Australia/Lord_Howe", date(2026, 10, 3), time(2, 15), ["15:45", "15:30", "15:15"]),
        ("Africa/Cairo", date(2026, 4, 23), time(0, 15), ["22:15", "22:00", "21:15"]),
    ],
)
async def test_over_a_clock_change_every_day_gets_one_line(
    tmp_path, surface, zone, first, post_at, hours
):
    choir = a_choir(
        zone=zone,
        post_at=post_at,
        starts_on=first,
        meeting=Meeting(pattern=Weekdays(days=frozenset(range(7)))),
    )
    clock = FakeClock(datetime.combine(first, time(0), UTC) - timedelta(hours=14))
    posted: list[str] = []
    surface.before_store = lambda: posted.append(f"{clock.now():%H:%M}")
    async with running(tmp_path, clock, surface) as world:
        await world.services.choirs.add(choir)
        await settled(world)

        await clock.advance(timedelta(days=3, hours=18))

    assert posted[:3] == hours
    assert len(surface.keys) == len(set(surface.keys))


async def test_two_choirs_at_the_same_minute_both_get_their_line(tmp_path, surface):
    clock = FakeClock(SIX)
    async with running(tmp_path, clock, surface) as world:
        await world.services.choirs.add(CHOIR)
        await world.services.choirs.add(a_choir("choir-2"))
        await settled(world)

        await clock.to(EIGHT)

    assert sorted(surface.keys) == ["choir-1.2026-09-14.daily", "choir-2.2026-09-14.daily"]


async def test_a_choir_whose_line_cannot_be_made_does_not_stop_another(tmp_path, surface):
    clock = FakeClock(EIGHT)
    broken = a_choir("broken", steps=Steps(sequence="gone"))
    async with running(tmp_path, clock, surface) as world:
        await world.services.choirs.add(broken)
        await world.services.choirs.add(CHOIR)
        await settled(world)
        await world.assembly.preparing.round()
        status = await world.services.status()
        (upcoming, *_) = await world.services.readings.upcoming("broken")

    assert days(surface) == ["09-14"]
    assert "order of steps “gone” is missing" in (status.choirs[0].trouble or "")
    assert upcoming.state == "refused"
    assert status.choirs[1].trouble is None


async def test_an_unforeseen_failure_of_one_choir_does_not_stop_another(tmp_path, surface):
    clock = FakeClock(EIGHT)

    def fail_once() -> None:
        surface.before_store = lambda: None
        raise ZeroDivisionError

    surface.before_store = fail_once
    async with open_world(tmp_path, clock, surface) as world:
        await world.services.choirs.add(CHOIR)
        await world.services.choirs.add(a_choir("choir-2"))
        again = await world.assembly.scheduler.round()
        first = list(surface.keys)
        status = await world.services.status()
        assert again is not None

        await clock.to(again)
        await world.assembly.scheduler.round()
        later = await world.services.status()

    assert first == ["choir-2.2026-09-14.daily"]
    assert "not foreseen (ZeroDivisionError)" in (status.choirs[0].trouble or "")
    assert surface.keys == ["choir-2.2026-09-14.daily", "choir-1.2026-09-14.daily"]
    assert [choir.trouble for choir in later.choirs] == [None, None]


async def test_a_choir_that_is_added_or_moved_is_followed_at_once(tmp_path, surface):
    clock = FakeClock(EIGHT)
    async with running(tmp_path, clock, surface) as world:
        await world.services.choirs.add(replace(CHOIR, post_at=time(14, 0)))
        await settled(world)
        before = days(surface)

        await world.services.choirs.change(replace(CHOIR, post_at=time(8, 30)))
        await settled(world)
        await clock.advance(timedelta(minutes=30))

    assert (before, days(surface)) == ([], ["09-14"])


async def test_a_choir_added_after_its_hour_gets_its_line_at_once(tmp_path, surface):
    clock = FakeClock(NINE)
    async with running(tmp_path, clock, surface) as world:
        await world.services.choirs.add(CHOIR)
        await settled(world)

    assert days(surface) == ["09-14"]


async def test_a_posting_time_moved_after_the_posting_posts_nothing_more(tmp_path, surface):
    clock = FakeClock(NINE)
    async with running(tmp_path, clock, surface) as world:
        await world.services.choirs.add(CHOIR)
        await settled(world)
        await world.services.choirs.change(replace(CHOIR, post_at=time(14, 0)))
        await settled(world)

        await clock.advance(timedelta(hours=12))

    assert days(surface) == ["09-14"]


async def test_the_next_line_and_its_media_are_ready_before_their_hour(tmp_path, surface):
    clock = FakeClock(SIX)
    async with open_world(tmp_path, clock, surface) as world:
        await world.services.choirs.add(CHOIR)

        await world.assembly.preparing.round()
        asked = len(world.media.requests)
        coming = await world.services.readings.upcoming(CHOIR.id, 3)
        await world.services.readings.media(coming[0].reading_id, "together", 0, "picture.png")

    assert [item.state for item in coming] == ["ready", "ready", "planned"]
    assert asked == 2 * 2 * 7  # two days, two arrangements, seven kinds, one voice
    assert world.media.requests[-1] in world.media.requests[:asked]


async def test_a_refusal_is_told_no_longer_once_the_choir_is_another(tmp_path):
    async with open_world(tmp_path, FakeClock(SIX)) as world:
        choirs, readings = world.services.choirs, world.services.readings
        await choirs.add(replace(CHOIR, steps=replace(CHOIR.steps, sequence="gone")))
        await world.assembly.preparing.round()
        assert (await readings.upcoming(CHOIR.id))[0].state == "refused"
        await choirs.change(CHOIR)
        assert (await readings.upcoming(CHOIR.id))[0].state == "planned"


async def test_a_picture_that_cannot_be_made_stops_no_posting(tmp_path, surface):
    clock = FakeClock(SIX)
    async with running(tmp_path, clock, surface) as world:
        world.media.broken = RenderFailed("no ink")
        await world.services.choirs.add(CHOIR)
        await settled(world)
        await clock.to(EIGHT)
        await world.assembly.preparing.round()
        trouble = (await world.services.status()).choirs[0].trouble

    assert days(surface) == ["09-14"]
    assert "picture or sound could not be made" in (trouble or "")


async def test_the_status_tells_the_last_and_the_next_posting(tmp_path, surface):
    clock = FakeClock(NINE)
    async with running(tmp_path, clock, surface) as world:
        await world.services.choirs.add(CHOIR)
        await settled(world)
        status = await world.services.status()

    (line,) = status.choirs
    assert (status.born, line.choir_name) == ("test", "Third Period")
    assert line.last_at is not None
    assert line.last_at.isoformat() == "2026-09-14T09:00:00-04:00"
    assert line.next_at is not None
    assert line.next_at.isoformat() == "2026-09-15T08:00:00-04:00"
    assert status.data_bytes > 0
