"""Every sentence that a person can see, by key, with gaps and plural forms.

Texts live in the files of `content/wording/<language>/`; nothing here reads a file. A text may have
gaps (`{choir}`) filled by name. A text whose form follows a number is a table of CLDR plural
categories (`one`, `other`, ...) chosen by the gap `count`. Dates and plurals come from Babel.
"""

from __future__ import annotations

import string
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time
from types import MappingProxyType

from babel import Locale
from babel.dates import format_date, format_time

from bot.errors import Fault, InputProblems

Text = str | Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Wording:
    """The texts of one language. Call it with a key and its gaps to get a sentence."""

    locale: Locale
    texts: Mapping[str, Text]

    def __call__(self, key: str, /, **gaps: object) -> str:
        """Fill a text; KeyError names a key or a gap that is missing."""
        text = self.texts[key]
        if not isinstance(text, str):
            count = gaps["count"]
            assert isinstance(count, int)
            text = text[self.locale.plural_form(count)]
        return text.format_map(gaps)

    def has(self, key: str) -> bool:
        """Whether the key has a text."""
        return key in self.texts

    def date(self, day: date, pattern: str = "EEEE, MMMM d") -> str:
        """A date in words, such as `Wednesday, November 25`."""
        return format_date(day, pattern, locale=self.locale)

    def time(self, moment: time) -> str:
        """A time of day as the language writes it, such as `8:05 AM`."""
        return format_time(moment, "short", locale=self.locale).replace("\u202f", " ")


def parse_wording(text: str, language: str, file: str) -> Wording:
    """Read one language's TOML file; InputProblems lists every fault with its key."""
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputProblems([Fault(place=file, problem=str(error))]) from error
    texts: dict[str, Text] = {}
    faults: list[Fault] = []
    _gather(tables, (), texts, faults, file)
    if faults:
        raise InputProblems(faults)
    return Wording(locale=Locale.parse(language), texts=MappingProxyType(texts))


_PLURALS = {"zero", "one", "two", "few", "many", "other"}


def _gather(
    table: Mapping[str, object],
    path: tuple[str, ...],
    texts: dict[str, Text],
    faults: list[Fault],
    file: str,
) -> None:
    for name, value in table.items():
        key = ".".join((*path, name))
        if isinstance(value, str):
            texts[key] = value
            faults += _broken_gaps(value, key, file)
        elif isinstance(value, dict) and "other" in value and set(value) <= _PLURALS:
            texts[key] = MappingProxyType(value)
            for form in value.values():
                faults += _broken_gaps(form, key, file)
        elif isinstance(value, dict):
            _gather(value, (*path, name), texts, faults, file)
        else:
            faults.append(Fault(place=f"{file}: {key}", problem=f"{value!r} is no text"))


def _broken_gaps(text: object, key: str, file: str) -> list[Fault]:
    try:
        if not isinstance(text, str):
            raise ValueError(f"{text!r} is no text")
        for _, gap, _, _ in string.Formatter().parse(text):
            if gap is not None and not gap.isidentifier():
                raise ValueError(f"a gap is written {{name}}, not {{{gap}}}")
    except ValueError as error:
        return [Fault(place=f"{file}: {key}", problem=str(error))]
    return []
