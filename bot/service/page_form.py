"""The fields of a choir's form that say what its pages have beside the notes."""

from __future__ import annotations

from bot.music.page_options import PageOptions, Under
from bot.music.rhythm_names import RhythmNames
from bot.service.form_fields import FormFields


def read_page(fields: FormFields) -> PageOptions:
    """What was chosen; faults go to `fields`."""
    usual = PageOptions()
    return PageOptions(
        under=fields.some_of("under", Under),
        rhythm_names=fields.one_of("rhythm_names", RhythmNames, usual.rhythm_names),
        large=fields.yes("large_print", default=False),
        one_a_line=fields.yes("one_a_line", default=False),
        rhythm_only=fields.yes("rhythm_only", default=False),
        measure_numbers=fields.yes("measure_numbers", default=True),
    )


def page_fields(page: PageOptions) -> dict[str, list[str]]:
    """The fields that `read_page` reads back as this page."""
    return {
        "under": [under.value for under in page.under],
        "rhythm_names": [page.rhythm_names.value],
        "large_print": [_yes(page.large)],
        "one_a_line": [_yes(page.one_a_line)],
        "rhythm_only": [_yes(page.rhythm_only)],
        "measure_numbers": [_yes(page.measure_numbers)],
    }


def _yes(value: bool) -> str:
    return "yes" if value else "no"
