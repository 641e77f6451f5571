"""The texts and sequences that the program runs on, read once at start."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from bot.wording import Wording

if TYPE_CHECKING:
    from bot.music.step import Sequence


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """Wording of the chosen language and the sequences of steps by their ids."""

    wording: Wording
    sequences: Mapping[str, Sequence]


def load_content(folders: Iterable[Path], language: str = "en") -> Content:
    """Read content folders; a later one overlays an earlier one, text by text, file by file.

    Raises InputProblems with every fault of every file.
    """
    raise NotImplementedError
