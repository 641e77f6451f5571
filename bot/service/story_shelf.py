"""The story files that there are: the program's own and, over them, those of the director.

The folders are looked at anew each time, so that a story that was just written can be told.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from bot.errors import Refused

_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_LONGEST = 48


class StoryShelf(Mapping[str, Path]):
    """Story ids and their files; a later folder overlays an earlier one.

    With more than one folder the last is the director's, and stories are kept there.
    """

    def __init__(self, folders: Sequence[Path]) -> None:
        self._folders = tuple(folder / "stories" for folder in folders)

    def __getitem__(self, story_id: str) -> Path:
        return self._files()[story_id]

    def __iter__(self) -> Iterator[str]:
        return iter(self._files())

    def __len__(self) -> int:
        return len(self._files())

    def is_own(self, story_id: str) -> bool:
        """Whether a story is the director's."""
        return len(self._folders) > 1 and (self._folders[-1] / f"{story_id}.toml").is_file()

    def keep(self, story_id: str, text: str) -> Path:
        """Write a story into the director's folder, whole or not at all; the file.

        Refused("story.desk.no_name") for an id that is none, "story.desk.no_folder" where there is
        no folder of the director's. OSError where it cannot be written.
        """
        if not _ID.fullmatch(story_id) or len(story_id) > _LONGEST:
            raise Refused("story.desk.no_name")
        if len(self._folders) < 2:
            raise Refused("story.desk.no_folder")
        folder = self._folders[-1]
        folder.mkdir(parents=True, exist_ok=True)
        file, new = folder / f"{story_id}.toml", folder / f".{story_id}.new"
        new.write_text(text, encoding="utf-8")
        return new.replace(file)

    def _files(self) -> dict[str, Path]:
        return {
            file.stem: file
            for folder in self._folders
            for file in sorted(folder.glob("*.toml"))
            if _ID.fullmatch(file.stem)
        }


def story_id(title: str) -> str:
    """A file's name from a title; empty where the title has no letter for one.

    >>> story_id("Who tuned the foghorn?")
    'who-tuned-the-foghorn'
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    words = re.findall(r"[a-z0-9]+", plain)
    while words and not words[0][0].isalpha():
        words.pop(0)
    return "-".join(words)[:_LONGEST].strip("-")
