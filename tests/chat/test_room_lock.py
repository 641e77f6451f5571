"""The desk's lock by itself: sessions that end, and waits that grow."""

from datetime import UTC, datetime, timedelta

from bot.chat.room.lock import Sessions, Throttle

NOW = datetime(2025, 11, 24, 15, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def test_a_session_is_open_for_ten_minutes_after_its_last_use():
    sessions = Sessions()
    token = sessions.open(NOW)

    assert sessions.use(token, NOW + 9 * MINUTE)
    assert sessions.use(token, NOW + 18 * MINUTE)
    assert not sessions.use(token, NOW + 28 * MINUTE)


def test_a_session_that_has_locked_itself_stays_locked():
    sessions = Sessions()
    token = sessions.open(NOW)

    assert not sessions.use(token, NOW + 10 * MINUTE)
    assert not sessions.use(token, NOW + MINUTE)


def test_no_session_lasts_longer_than_ten_hours_however_busy():
    sessions = Sessions()
    token = sessions.open(NOW)

    used = [sessions.use(token, NOW + n * 5 * MINUTE) for n in range(1, 121)]

    assert used == [True] * 119 + [False]


def test_a_closed_session_is_no_longer_open():
    sessions = Sessions()
    token, other = sessions.open(NOW), sessions.open(NOW)

    sessions.close(token)

    assert not sessions.use(token, NOW)
    assert sessions.use(other, NOW)


def test_tokens_are_long_and_never_alike():
    sessions = Sessions()
    tokens = {sessions.open(NOW) for _ in range(50)}

    assert len(tokens) == 50
    assert min(map(len, tokens)) >= 43  # 256 bits in base 64


def _wrong(throttle: Throttle, client: str, times: int, now: datetime) -> None:
    for _ in range(times):
        throttle.tried(client, now)


def test_four_wrong_tries_are_free_and_the_fifth_brings_a_wait():
    throttle = Throttle()
    _wrong(throttle, "a", 4, NOW)
    assert throttle.wait("a", NOW) == timedelta()

    throttle.tried("a", NOW)

    assert throttle.wait("a", NOW) == timedelta(seconds=30)
    assert throttle.wait("a", NOW + timedelta(seconds=31)) == timedelta()


def test_waits_double_up_to_fifteen_minutes():
    throttle, now, waits = Throttle(), NOW, []

    for _ in range(7):
        _wrong(throttle, "a", 5, now)
        waits.append(throttle.wait("a", now))
        now += waits[-1] + timedelta(seconds=1)

    assert [wait.total_seconds() for wait in waits] == [30, 60, 120, 240, 480, 900, 900]


def test_one_clients_wrong_tries_are_no_wait_for_another():
    throttle = Throttle()
    _wrong(throttle, "a", 5, NOW)
    assert throttle.wait("b", NOW) == timedelta()


def test_sixty_tries_a_minute_from_many_pause_everybody_for_a_minute():
    throttle = Throttle()
    for number in range(60):
        throttle.tried(f"client {number}", NOW)

    assert throttle.wait("somebody else", NOW) == MINUTE
    assert throttle.wait("somebody else", NOW + MINUTE) == timedelta()


def test_the_right_passphrase_forgives_what_came_before():
    throttle = Throttle()
    _wrong(throttle, "a", 5, NOW)
    throttle.right("a")
    assert throttle.wait("a", NOW) == timedelta()


def test_addresses_are_forgotten_after_fifteen_quiet_minutes():
    throttle = Throttle()
    _wrong(throttle, "a", 2, NOW)

    throttle.wait("b", NOW + 16 * MINUTE)

    assert throttle.remembered == 0
