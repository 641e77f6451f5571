"""Patience at the door of the seats: one client, everybody together, the whole day."""

from datetime import UTC, datetime, timedelta

from bot.chat.room.join_door import JoinDoor

NOON = datetime(2026, 9, 14, 12, tzinfo=UTC)


def seconds(number: float) -> timedelta:
    return timedelta(seconds=number)


def try_wrong(door: JoinDoor, client: str, times: int, at: datetime = NOON) -> bool:
    """Wrong codes one after the other; whether one of them closed the door."""
    return [door.tried(client, at) for _ in range(times)].count(True) > 0


def test_four_wrong_codes_cost_nothing_and_the_fifth_half_a_minute():
    door = JoinDoor()
    try_wrong(door, "a", 4)
    assert door.wait("a", NOON) == seconds(0)

    try_wrong(door, "a", 1)

    assert door.wait("a", NOON) == seconds(30)
    assert door.wait("a", NOON + seconds(30)) == seconds(0)
    assert door.wait("b", NOON) == seconds(0)


def test_every_five_more_double_the_wait_up_to_a_quarter_of_an_hour():
    door, now, waits = JoinDoor(), NOON, []
    for _ in range(8):
        try_wrong(door, "a", 5, now)
        waits.append(door.wait("a", now).total_seconds())
        now += door.wait("a", now)

    assert waits == [30, 60, 120, 240, 480, 900, 900, 900]


def test_wrong_codes_spread_over_minutes_cost_nothing():
    door = JoinDoor()

    for number in range(20):
        try_wrong(door, "a", 1, NOON + seconds(16 * number))

    assert door.wait("a", NOON + seconds(16 * 19)) == seconds(0)


def test_a_class_behind_one_address_sits_down_without_a_wait():
    door = JoinDoor()
    for number in range(80):
        at = NOON + seconds(number / 4)
        assert door.wait("school", at) == seconds(0)
        door.tried("school", at)
        door.right("school", at)

    assert not door.closed


def test_codes_that_are_looked_at_all_at_once_count_each():
    door = JoinDoor()

    waits = []
    for _ in range(6):
        waits.append(door.wait("a", NOON))
        door.tried("a", NOON)

    assert waits[5] == seconds(30)


def test_sixty_a_minute_from_everybody_pause_the_door_for_a_minute():
    door = JoinDoor()
    for number in range(60):
        try_wrong(door, f"client {number}", 1)

    assert door.wait("another", NOON) == seconds(60)
    assert door.wait("another", NOON + seconds(60)) == seconds(0)


def test_a_hundred_a_day_close_the_door_until_the_director_opens_it():
    door = JoinDoor()
    closed = [try_wrong(door, str(n), 1, NOON + seconds(30 * n)) for n in range(100)]
    assert closed == [False] * 99 + [True]
    assert door.closed

    door.wait("a", NOON + timedelta(days=1))
    assert door.closed
    door.reopen()

    assert not door.closed
    assert not try_wrong(door, "a", 1, NOON + timedelta(hours=3))


def test_the_days_count_begins_again_at_midnight():
    door = JoinDoor()
    for number in range(99):
        try_wrong(door, str(number), 1, NOON + seconds(30 * number))

    assert not try_wrong(door, "a", 1, NOON + timedelta(days=1))


def test_clients_are_forgotten_after_a_quarter_of_an_hour():
    door = JoinDoor()
    try_wrong(door, "a", 4)

    door.wait("b", NOON + timedelta(minutes=15))

    assert door.remembered == 0
