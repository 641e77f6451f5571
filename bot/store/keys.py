"""The keys of tags: one file beside the database, for its owner alone, in no backup."""

from __future__ import annotations

import os
from pathlib import Path

from bot.errors import SettingsProblem
from bot.privacy.tags import KEY_BYTES, TagKeys, new_keys
from bot.store.folder import open_private

KEYS = "riserbell.keys"


def tag_keys(folder: Path) -> TagKeys:
    """The keys of the folder, made where there are none yet.

    SettingsProblem where the file is not as it was written.
    """
    path = folder / KEYS
    data = path.read_bytes() if path.exists() else b""
    if not data:
        return replace_tag_keys(folder)
    if len(data) != 3 * KEY_BYTES:
        raise SettingsProblem(
            f"{path} is damaged: put it away and print new slips, or bring it back from a copy"
        )
    code, salt, link = (data[at : at + KEY_BYTES] for at in range(0, len(data), KEY_BYTES))
    return TagKeys(code=code, salt=salt, link=link)


def keys_written(folder: Path) -> tuple[int, int] | None:
    """Tells one state of the file from another; None where there is none yet."""
    try:
        state = (folder / KEYS).stat()
    except FileNotFoundError:
        return None
    return state.st_ino, state.st_mtime_ns


def replace_tag_keys(folder: Path) -> TagKeys:
    """Put fresh keys in place of the old ones, which are gone with all that they opened.

    The old bytes are overwritten where they lie, as far as the disk lets a program do that.
    """
    keys = new_keys()
    with open_private(folder / KEYS) as file:
        os.pwrite(file, keys.code + keys.salt + keys.link, 0)
        os.ftruncate(file, 3 * KEY_BYTES)
        os.fsync(file)
    return keys
