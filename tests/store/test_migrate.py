"""Migrations: each from the one before with rows in it; a failing one changes nothing."""

import sqlite3
from contextlib import closing

import pytest

from bot.errors import SettingsProblem
from bot.store.migrate import Migration, migrate, schema_version, shipped_migrations, statements

FIRST = Migration(
    version=1,
    name="0001_start",
    sql="CREATE TABLE lines (id INTEGER PRIMARY KEY, text TEXT NOT NULL) STRICT;",
)
SECOND = Migration(
    version=2,
    name="0002_more",
    sql="""-- a remark; with a semicolon
ALTER TABLE lines ADD COLUMN length INTEGER;
UPDATE lines SET length = length(text);
CREATE TABLE marks (line INTEGER NOT NULL REFERENCES lines) STRICT;
""",
)


def old_file(path):
    migrate(path, (FIRST,))
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("INSERT INTO lines (text) VALUES ('do re mi'), ('so mi do')")
    return path


def contents(path):
    with closing(sqlite3.connect(path)) as connection:
        schema = connection.execute("SELECT sql FROM sqlite_schema ORDER BY name").fetchall()
        return (
            schema,
            connection.execute("SELECT * FROM lines").fetchall(),
            schema_version(connection),
        )


def test_rows_of_the_version_before_come_along(tmp_path):
    path = old_file(tmp_path / "old.sqlite3")

    before = migrate(path, (FIRST, SECOND))

    assert before == 1
    assert contents(path)[1:] == ([(1, "do re mi", 8), (2, "so mi do", 8)], 2)


def test_migrating_twice_is_migrating_once(tmp_path):
    path = old_file(tmp_path / "old.sqlite3")
    migrate(path, (FIRST, SECOND))
    once = contents(path)

    migrate(path, (FIRST, SECOND))

    assert contents(path) == once


@pytest.mark.parametrize(
    "fault",
    [
        "INSERT INTO nowhere VALUES (1);",
        "INSERT INTO marks VALUES (99);",  # points at no line
        "CREATE TABLE half (",
        "INSERT INTO lines (id, text) VALUES (1, 'again');",
    ],
)
def test_a_migration_that_fails_changes_nothing(tmp_path, fault):
    path = old_file(tmp_path / "old.sqlite3")
    before = contents(path)
    broken = Migration(version=2, name="0002_broken", sql=SECOND.sql + fault)

    with pytest.raises(SettingsProblem, match=r"0002_broken .*changed nothing"):
        migrate(path, (FIRST, broken))

    assert contents(path) == before


def test_a_copy_is_kept_only_while_a_migration_is_in_doubt(tmp_path):
    path = old_file(tmp_path / "old.sqlite3")
    broken = Migration(version=2, name="0002_broken", sql="nonsense;")

    with pytest.raises(SettingsProblem):
        migrate(path, (FIRST, broken))
    in_doubt = sorted(file.name for file in tmp_path.iterdir())
    migrate(path, (FIRST, SECOND))

    assert in_doubt == ["old.sqlite3", "old.sqlite3.before-0002"]
    assert [file.name for file in tmp_path.iterdir()] == ["old.sqlite3"]


def test_a_file_of_a_newer_release_is_left_alone(tmp_path):
    path = old_file(tmp_path / "old.sqlite3")
    migrate(path, (FIRST, SECOND))

    with pytest.raises(SettingsProblem, match="newer release"):
        migrate(path, (FIRST,))


def test_a_script_is_cut_into_statements():
    assert list(statements("SELECT 1;\n-- a; b\nSELECT\n 2;\n-- end\n")) == [
        "SELECT 1;",
        "-- a; b\nSELECT\n 2;",
    ]


def test_shipped_migrations_are_numbered_from_one():
    assert [m.version for m in shipped_migrations()] == list(
        range(1, len(shipped_migrations()) + 1)
    )


def test_shipped_migrations_make_a_sound_file(tmp_path):
    path = tmp_path / "new.sqlite3"

    migrate(path, shipped_migrations())

    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert schema_version(connection) == len(shipped_migrations())


def test_every_table_is_strict(tmp_path):
    path = tmp_path / "new.sqlite3"
    migrate(path, shipped_migrations())

    with closing(sqlite3.connect(path)) as connection:
        lax = connection.execute(
            "SELECT name FROM pragma_table_list "
            "WHERE schema = 'main' AND NOT strict AND name NOT LIKE 'sqlite_%'"
        ).fetchall()

    assert lax == []
