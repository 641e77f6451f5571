"""Where things lie and how the program was started: read from arguments and environment once."""

from __future__ import annotations

import os
import stat
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from platformdirs import user_data_path

from bot.errors import SettingsProblem

DEFAULT_PORT = 8765
LOOPBACK = ("127.0.0.1", "::1", "localhost")
TOKEN_VARIABLE = "RISERBELL_DISCORD_TOKEN"  # noqa: S105 - the variable's name, no secret
TOKEN_FILE = "discord-token"  # noqa: S105 - the file's name in the data folder, no secret


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How one run was asked for.

    `data` holds the database, keys and the media cache. `now` starts an injected clock and is
    accepted on demo data only. `public_url` is what links, cookies and the Host list are made from.
    """

    data: Path
    demo: bool = False
    host: str = "127.0.0.1"
    port: int = DEFAULT_PORT
    public_url: str | None = None
    now: datetime | None = None

    @property
    def born(self) -> str:
        """What the data are, as their installation says."""
        return "demo" if self.demo else "real"

    @property
    def cache(self) -> Path:
        """Pictures and sounds that can be made again at any time."""
        return self.data / "cache"

    @property
    def content_folders(self) -> tuple[Path, ...]:
        """The program's own content, then the director's, which overlays it."""
        return (content_root(), self.data / "content")


def content_root() -> Path:
    """The content that ships with the program.

    A wheel carries it as `bot/_content`; an editable install and a checkout have `content/`
    beside `bot/`.
    """
    package = Path(__file__).resolve().parent
    for folder in (package / "_content", package.parent / "content"):
        if (folder / "wording").is_dir():
            return folder
    raise SettingsProblem(
        f"the content folder is missing beside {package}: install Riserbell again with pip"
    )


def default_data(*, demo: bool) -> Path:
    """The folder for this person's data; the demo has one of its own."""
    return user_data_path("riserbell-demo" if demo else "riserbell", appauthor=False)


def discord_token(environment: Mapping[str, str], data: Path) -> str | None:
    """The token from the environment, else from `<data>/discord-token` (mode 0600), else None.

    SettingsProblem where the file can be read by others than its owner.
    """
    if token := environment.get(TOKEN_VARIABLE, "").strip():
        return token
    file = data / TOKEN_FILE
    if not file.is_file():
        return None
    if os.name == "posix" and stat.S_IMODE(file.stat().st_mode) & 0o077:
        raise SettingsProblem(f"{file} can be read by others: run `chmod 600 {file}`")
    return file.read_text(encoding="utf-8").strip() or None
