"""The approval sheet: whatever is not exactly right is no sheet."""

import json
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.errors import InputProblems
from bot.privacy.approval import (
    LIMIT_BYTES,
    LONGEST_KEPT_DAYS,
    SEAT_FIELDS,
    Activity,
    Approver,
    Purpose,
    Transport,
    fields_needed,
    read_sheet,
    short_hash,
)
from tests.privacy.sheets import ALL, a_sheet, written

DISCORD = {
    "guild_id": "123456789012345678",
    "channel_ids": ["223456789012345678"],
    "least_age_attested": 13,
    "attested_on": "2026-08-30",
    "privacy_policy_url": "https://school.example/privacy",
}
WITH_DISCORD = {"surfaces": {"room": True, "discord": True}, "discord": DISCORD}


def places(data: bytes) -> list[str]:
    """The keys at fault, in order."""
    with pytest.raises(InputProblems) as caught:
        read_sheet(data, "sheet")
    return [fault.place.removeprefix("sheet: ") for fault in caught.value.faults]


def test_a_valid_sheet_says_what_it_allows():
    sheet = read_sheet(written(a_sheet("choir-1", "choir-2")), "sheet")

    assert (sheet.purpose, sheet.approver) == (Purpose.SCHOOL, Approver.PRINCIPAL)
    assert sheet.choirs == {"choir-1", "choir-2"}
    assert (sheet.valid_from, sheet.expires_on) == (date(2026, 9, 1), date(2027, 1, 31))
    assert (sheet.term_ends_on, sheet.transport) == (date(2027, 1, 29), Transport.LOOPBACK)
    assert sheet.activities == {Activity.TAPS, Activity.PRACTICE_ROW}
    assert sheet.fields == fields_needed(sheet.activities) < SEAT_FIELDS
    assert (sheet.room, sheet.discord) == (True, None)
    assert (sheet.least_in_class, sheet.least_outside, sheet.most_seats) == (5, 10, 60)


@pytest.mark.parametrize(
    ("choir", "day", "covered"),
    [
        ("choir-1", date(2026, 8, 31), False),
        ("choir-1", date(2026, 9, 1), True),
        ("choir-1", date(2027, 1, 31), True),
        ("choir-1", date(2027, 2, 1), False),
        ("choir-2", date(2026, 10, 1), False),
    ],
)
def test_a_sheet_covers_its_choirs_from_its_first_day_to_its_last(choir, day, covered):
    assert read_sheet(written(a_sheet("choir-1")), "sheet").covers(choir, day) is covered


@pytest.mark.parametrize("key", sorted(a_sheet()))
def test_a_missing_key_is_no_sheet(key):
    tree = a_sheet()
    del tree[key]

    assert any(place.split(".")[0] == key for place in places(written(tree)))


@pytest.mark.parametrize("key", sorted(a_sheet()))
@pytest.mark.parametrize(
    "value", [None, "", "  ", -1, 1.5, [], ["x"], {}, {"x": 1}, "x\u0000", "\ud800"], ids=repr
)
def test_a_value_of_another_kind_is_no_sheet(key, value):
    # Nothing to forbid is an honest choice for activities, and null for Discord.
    if (key, value) in (("activities", []), ("discord", None), ("choirs", ["x"])):
        return

    assert places(json.dumps({**a_sheet(), key: value}).encode()) != []


def test_an_unknown_key_is_no_sheet():
    tree = a_sheet(nickname="Lark")
    tree["display"]["photos"] = True

    assert places(written(tree)) == ["nickname", "display.photos"]


def test_every_fault_is_told_at_once():
    tree = a_sheet(school="", approver_role="teacher", most_seats=0, country="usa")

    assert places(written(tree)) == ["school", "country", "approver_role", "most_seats"]


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"schema": 2}, "schema"),
        ({"schema": True}, "schema"),
        ({"purpose": "test"}, "purpose"),
        ({"approver_role": "teacher"}, "approver_role"),
        ({"choirs": ["a", "a"]}, "choirs"),
        ({"valid_from": "2026-9-1"}, "valid_from"),
        ({"valid_from": "2026-W36-2"}, "valid_from"),
        ({"valid_from": "2026-02-30"}, "valid_from"),
        ({"valid_from": "２０２６-09-01"}, "valid_from"),
        ({"expires_on": "2026-08-31", "term_ends_on": "2026-08-31"}, "expires_on"),
        ({"expires_on": "2027-09-02"}, "expires_on"),
        ({"term_ends_on": "2027-02-01"}, "term_ends_on"),
        ({"term_ends_on": "2026-08-31"}, "term_ends_on"),
        ({"approved_on": "2026-09-02"}, "valid_from"),
        ({"families_told_on": "2026-09-02"}, "families_told_on"),
        ({"fields": ["seats.name", *sorted(SEAT_FIELDS)]}, "fields"),
        ({"fields": ["choirs.name", *sorted(SEAT_FIELDS)]}, "fields"),
        ({"fields": sorted(SEAT_FIELDS - {"read_days.read_on"})}, "fields"),
        ({"display": {"least_in_class": 4, "least_outside": 10}}, "display.least_in_class"),
        ({"display": {"least_in_class": 5, "least_outside": 9}}, "display.least_outside"),
        ({"never": ["names", "recordings", "grades"]}, "never"),
        ({"transport": "http"}, "transport"),
        ({"most_seats": 401}, "most_seats"),
        ({"surfaces": {"room": True, "discord": True}}, "discord"),
        ({**WITH_DISCORD, "surfaces": {"room": True, "discord": False}}, "discord"),
        ({**WITH_DISCORD, "purpose": "demo"}, "discord"),
        ({**WITH_DISCORD, "country": "IE"}, "discord.least_age_attested"),
        ({**WITH_DISCORD, "fields": sorted(fields_needed(ALL))}, "fields"),
    ],
)
def test_a_value_outside_what_is_allowed_is_named(changes, place):
    assert place in places(written(a_sheet(**changes)))


@pytest.mark.parametrize(
    "activities", [["taps", "taps"], ["practice_row"], ["taps", "prizes"], "taps"]
)
def test_activities_are_a_list_of_known_ones_and_a_row_needs_taps(activities):
    assert "activities" in places(written({**a_sheet(), "activities": activities}))


@pytest.mark.parametrize(("name", "most"), LONGEST_KEPT_DAYS.items())
def test_nothing_is_kept_longer_than_the_register_allows(name, most):
    tree = a_sheet()
    tree["kept_days"][name] = most + 1

    assert set(places(written(tree))) == {f"kept_days.{name}"}


def test_a_practice_row_needs_its_fourteen_days():
    tree = a_sheet()
    tree["kept_days"]["taps"] = 13

    assert places(written(tree)) == ["kept_days.taps"]


def test_a_sheet_for_a_whole_year_is_the_longest():
    read_sheet(written(a_sheet(expires_on="2027-09-01")), "sheet")


def test_seats_without_any_activity_need_only_what_a_seat_is_made_of():
    needed = fields_needed(frozenset())

    assert {name.split(".")[0] for name in needed} == {"seats", "seat_codes", "seat_sessions"}
    assert read_sheet(written(a_sheet(activities=frozenset())), "sheet").fields == needed


def test_discord_stands_on_the_sheet_with_its_terms():
    sheet = read_sheet(written(a_sheet(**WITH_DISCORD)), "sheet")

    assert sheet.discord is not None
    assert sheet.discord.guild_id == "123456789012345678"


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"guild_id": 123}, "discord.guild_id"),
        ({"guild_id": "１２３"}, "discord.guild_id"),
        ({"channel_ids": []}, "discord.channel_ids"),
        ({"least_age_attested": 12}, "discord.least_age_attested"),
        ({"channel_ids": ["reading"]}, "discord.channel_ids"),
        ({"attested_on": "yesterday"}, "discord.attested_on"),
        ({"attested_on": "2026-09-02"}, "discord.attested_on"),
        ({"privacy_policy_url": "http://school.example"}, "discord.privacy_policy_url"),
        ({"server_name": "Choir"}, "discord.server_name"),
    ],
)
def test_terms_for_discord_are_read_as_strictly(changes, place):
    tree = a_sheet(**{**WITH_DISCORD, "discord": {**DISCORD, **changes}})

    assert place in places(written(tree))


def test_discord_needs_an_encrypted_disk():
    tree = a_sheet(**WITH_DISCORD, disk_encryption_attested=False)

    assert places(written(tree)) == ["disk_encryption_attested"]


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"null",
        b"[]",
        b"{",
        b"\xff\xfe",
        b'{"schema": 1, "schema": 1}',
        b'{"surfaces": {"room": true, "room": true}}',
        b"[" * 50_000,
        b" " * (LIMIT_BYTES + 1),
        b'{"schema": ' + b"9" * 5000 + b"}",
        b'{"schema": NaN}',
    ],
    ids=lambda data: repr(data[:20]),
)
def test_what_is_no_plain_object_is_no_sheet(data):
    assert places(data) != []


VALID = written(a_sheet())


@given(st.integers(0, len(VALID) - 1), st.binary(max_size=3), st.integers(0, 3))
def test_any_edit_of_the_bytes_gives_another_hash(at, put, cut):
    edited = VALID[:at] + put + VALID[at + cut :]

    assert (short_hash(edited) == short_hash(VALID)) == (edited == VALID)


def test_the_hash_is_sixteen_hex_digits_to_be_typed_from_paper():
    assert short_hash(b"abc") == "ba7816bf8f01cfea"  # FIPS 180-2, example B.1
