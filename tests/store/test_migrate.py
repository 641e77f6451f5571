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


ROWS_OF_THE_FIRST = """
INSERT INTO installation VALUES (1, 'test', '0.1.0');
INSERT INTO choirs VALUES ('c', 0, '2026-09-01', 'Third Period', 'steps-first', 'p01', 'r01', 'v01',
    'UTC', 'weekdays', '0,1,2', NULL, NULL, '08:00', '2026-09-01', 'syllables', 'so', 'ti', 0,
    'triad', 440.0, NULL, 1, 1, NULL, NULL);
INSERT INTO choir_voices VALUES ('c', 0, 'treble', 'Part I', 'Bb3', 'E5', 'D4', 'B4', 'treble');
INSERT INTO choir_days_off VALUES ('c', '2026-11-26');
INSERT INTO readings VALUES ('r', 'c', '2026-09-14', 'daily', 0, 1, '{}', 'f', 'steps-first',
    'p01', 'r01', 'v01', 7, 'composed', NULL);
INSERT INTO reading_parts VALUES ('r', 0, 'treble', 'Part I', 'treble', 0, 4, 'F', 4);
INSERT INTO deliveries VALUES ('c', '2026-09-14', 'daily', 'room', 'sent', 'r', 'n', 'm',
    '2026-09-14T08:00:00+00:00', '2026-09-14T08:00:01+00:00');
INSERT INTO desk VALUES (1, 'hash');
"""


def _columns_of(old, new):
    """The new rows, cut down to the columns that the old ones had; columns may come, none goes."""
    return [{name: after[name] for name in before} for before, after in zip(old, new, strict=True)]


@pytest.mark.parametrize("version", range(2, len(shipped_migrations()) + 1))
def test_a_shipped_migration_brings_every_row_along(tmp_path, version):
    path = tmp_path / "old.sqlite3"
    migrate(path, shipped_migrations()[:1])
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(ROWS_OF_THE_FIRST)
    migrate(path, shipped_migrations()[: version - 1])
    before = rows_of(path)

    migrate(path, shipped_migrations()[:version])

    after = rows_of(path)
    brought = {table: _columns_of(before[table], after[table]) for table in before}
    assert brought == before
    assert sum(len(rows) for rows in before.values()) >= 8


def rows_of(path):
    """Rows of every table, as dictionaries."""
    with closing(sqlite3.connect(path)) as connection:
        connection.row_factory = sqlite3.Row
        tables = connection.execute(
            "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
        ).fetchall()
        return {
            name: [dict(row) for row in connection.execute(f'SELECT * FROM "{name}"')]  # noqa: S608
            for (name,) in tables
        }
