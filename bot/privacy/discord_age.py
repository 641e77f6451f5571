"""The youngest that Discord takes, by country: the school attests at least this age of everybody.

After Discord's help pages (article 360040724612, on birthdays), in doubt the higher age. Discord
keeps that page and this is no substitute for it: the school looks there before a sheet is signed.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

EVERYWHERE_ELSE = 13
_BY_AGE: Mapping[int, str] = {
    14: "AT CL CO CY ES IT KR PE VE",
    15: "CZ FR GR RS VN",
    16: "AW BG BQ CW DE HR HU IE LT LU NL PL RO SI SK SM SX",
}
OLDER: Mapping[str, int] = MappingProxyType(
    {country: age for age, countries in _BY_AGE.items() for country in countries.split()}
)


def least_age_on_discord(country: str) -> int:
    """The age for a country of two letters (ISO 3166).

    >>> least_age_on_discord("US"), least_age_on_discord("IE")
    (13, 16)
    """
    return OLDER.get(country, EVERYWHERE_ELSE)
