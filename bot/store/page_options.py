"""What a choir's pages have beside the notes, as columns of its row."""

from __future__ import annotations

from sqlite3 import Row

from bot.music.page_options import PageOptions, Under
from bot.music.rhythm_names import RhythmNames
from bot.store.database import Value


def page_columns(page: PageOptions) -> dict[str, Value]:
    """The columns of a page."""
    return {
        "under_notes": ",".join(page.under),
        "rhythm_names": page.rhythm_names,
        "large_print": int(page.large),
        "one_a_line": int(page.one_a_line),
        "rhythm_only": int(page.rhythm_only),
        "measure_numbers": int(page.measure_numbers),
    }


def page_of(row: Row) -> PageOptions:
    """The page that a choir's row describes."""
    return PageOptions(
        under=tuple(Under(name) for name in row["under_notes"].split(",") if name),
        rhythm_names=RhythmNames(row["rhythm_names"]),
        large=bool(row["large_print"]),
        one_a_line=bool(row["one_a_line"]),
        rhythm_only=bool(row["rhythm_only"]),
        measure_numbers=bool(row["measure_numbers"]),
    )
