"""The register of fields against the migrated schema, and the gate in front of every write."""

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest

from bot.errors import NotAllowedToKeep
from bot.privacy.fields import REGISTER, Field, Kind, portable, tables
from bot.privacy.gate import check_write
from bot.store.migrate import migrate, shipped_migrations

SEAT = Field(
    table="seats",
    column="weeks_kept",
    purpose="practice row",
    kind=Kind.SEAT,
    seen_by="own seat",
    kept="term and 30 days",
    deleted_by="with the seat",
)
WITH_SEATS = {**REGISTER, SEAT.name: SEAT}


def test_the_register_and_the_schema_list_the_same_columns(tmp_path):
    path = tmp_path / "new.sqlite3"
    migrate(path, shipped_migrations())

    with closing(sqlite3.connect(path)) as connection:
        schema = {
            f"{table}.{column}"
            for table, column in connection.execute(
                "SELECT t.name, c.name FROM pragma_table_list AS t, pragma_table_info(t.name) AS c "
                "WHERE t.schema = 'main' AND t.name NOT LIKE 'sqlite_%'"
            )
        }

    assert schema == set(REGISTER)


@pytest.mark.parametrize("field", REGISTER.values(), ids=list(REGISTER))
def test_every_field_says_why_for_whom_how_long_and_how_it_goes(field):
    assert all((field.purpose, field.seen_by, field.kept, field.deleted_by))


def test_what_is_kept_about_a_seat_is_a_list_that_one_can_overlook():
    assert [field.name for field in REGISTER.values() if field.kind is Kind.SEAT] == [
        "seats.seat_id",
        "seats.choir_id",
        "seats.seat_no",
        "seats.made_on",
        "seat_codes.seat_id",
        "seat_codes.code_tag",
        "seat_sessions.seat_id",
        "seat_sessions.token_hash",
        "seat_sessions.opened_on",
        "seat_sessions.remembered",
        "taps.seat_id",
        "taps.read_on",
        "taps.tapped_on",
        "taps.went",
        "read_days.seat_id",
        "read_days.read_on",
        "week_counts.seat_id",
        "week_counts.begins",
        "week_counts.offered",
        "week_counts.days_read",
        "seat_links.seat_id",
        "seat_links.link_tag",
        "seat_link_codes.seat_id",
        "seat_link_codes.code_tag",
        "seat_link_codes.made_on",
        "story_ballots.seat_id",
        "story_ballots.run_id",
        "story_ballots.path",
        "home_spans.seat_id",
        "home_spans.begins",
        "home_spans.beats",
    ]


def test_no_column_keeps_a_time_of_day_of_a_singer():
    columns = [field.column for field in REGISTER.values() if field.kind is Kind.SEAT]

    assert [column for column in columns if column.endswith("_at")] == []


def test_secrets_and_seats_are_not_portable():
    assert [table for table in tables() if not portable(table)] == [
        "desk",
        "stage",
        "discord_link_codes",
        "seats",
        "seat_codes",
        "seat_sessions",
        "taps",
        "read_days",
        "week_counts",
        "seat_links",
        "seat_link_codes",
        "story_ballots",
        "home_spans",
    ]


def test_an_unknown_column_is_refused_by_name():
    with pytest.raises(NotAllowedToKeep, match=r"choirs\.nickname is not in the register"):
        check_write("choirs", ["name", "nickname"])


def test_an_unknown_table_is_refused():
    with pytest.raises(NotAllowedToKeep, match=r"singers\.name"):
        check_write("singers", ["name"])


def test_seat_data_is_refused_without_an_approval():
    with pytest.raises(NotAllowedToKeep, match="no valid approval allows"):
        check_write("seats", ["weeks_kept"], register=WITH_SEATS)


def test_an_approval_for_one_field_lets_that_field_through():
    check_write("seats", ["weeks_kept"], frozenset({"seats.weeks_kept"}), WITH_SEATS)


def test_an_approval_for_one_field_lets_no_other_through():
    day_bits = replace(SEAT, column="day_bits")

    with pytest.raises(NotAllowedToKeep, match=r"seats\.day_bits"):
        check_write(
            "seats",
            ["weeks_kept", "day_bits"],
            frozenset({"seats.weeks_kept"}),
            {**WITH_SEATS, day_bits.name: day_bits},
        )


def test_an_approval_cannot_let_through_what_the_register_does_not_know():
    with pytest.raises(NotAllowedToKeep, match="not in the register"):
        check_write("seats", ["name"], frozenset({"seats.name"}), WITH_SEATS)
