"""The gate: what may be written. It closes on whatever it does not know."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from bot.errors import NotAllowedToKeep
from bot.privacy.fields import REGISTER, Field, Kind

NOTHING_ALLOWED: frozenset[str] = frozenset()


def check_write(
    table: str,
    columns: Iterable[str],
    allowed: frozenset[str] = NOTHING_ALLOWED,
    register: Mapping[str, Field] = REGISTER,
) -> None:
    """Pass, or raise NotAllowedToKeep naming the first column that may not be written.

    `allowed` holds the `table.column` names of seat data that a school's valid approval lists;
    without an approval it is empty, and no seat data passes.
    """
    for column in columns:
        field = register.get(f"{table}.{column}")
        if field is None:
            raise NotAllowedToKeep(
                f"{table}.{column} is not in the register of fields: enter it in "
                "bot/privacy/fields.py with purpose, keeper and longest keeping first"
            )
        if field.kind is Kind.SEAT and field.name not in allowed:
            raise NotAllowedToKeep(f"{field.name} is seat data that no valid approval allows")
