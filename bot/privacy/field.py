"""One column that may be kept: why, who sees it, how long, how it goes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What sort of thing a column holds; decides backups and who must have allowed it."""

    CONTENT = "content"  # music that was read
    CHOIR = "choir setting"  # what the director set
    OPERATIONAL = "operational"  # what the program needs to go on after a restart
    TOTAL = "class total"  # counts of a class, of nobody in particular
    SECRET = "secret"  # noqa: S105 - a class of columns that never leaves the machine
    SEAT = "seat data"  # about one singer's seat; kept only under a school's approval


PORTABLE = frozenset({Kind.CONTENT, Kind.CHOIR, Kind.OPERATIONAL, Kind.TOTAL})


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One row of the register, in words that a privacy notice can print."""

    table: str
    column: str
    purpose: str
    kind: Kind
    seen_by: str
    kept: str
    deleted_by: str

    @property
    def name(self) -> str:
        """`table.column`, as approvals list it."""
        return f"{self.table}.{self.column}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What the columns of one table have in common."""

    kind: Kind
    seen_by: str
    kept: str
    deleted_by: str


# Tables in order: name, what its columns have in common, each column with its purpose.
Tables = tuple[tuple[str, Terms, Mapping[str, str]], ...]
