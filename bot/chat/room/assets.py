"""The room's own files: styles, scripts, icons and the serif, all held in memory.

Their address carries a digest of them all, so a browser may keep them for ever and an upgrade is
seen at once. Only names found at the start can be asked for: no path of a request touches a disk.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import font_source_serif_pro

HERE = Path(__file__).resolve().parent
FOREVER = "private, max-age=31536000, immutable"

_KINDS = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".otf": "font/otf",
}
_FACES = {
    "serif-regular.otf": "SourceSerifPro-Regular.otf",
    "serif-italic.otf": "SourceSerifPro-It.otf",
    "serif-semibold.otf": "SourceSerifPro-Semibold.otf",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asset:
    """One file as it is served."""

    data: bytes
    content_type: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Assets:
    """All files by name, and the digest that their addresses carry."""

    digest: str
    files: Mapping[str, Asset]

    def url(self, name: str) -> str:
        """The address of a file; KeyError for a name that is not there."""
        self.files[name]
        return f"/static/{self.digest}/{name}"


def load_assets() -> Assets:
    """Read the files of `static/` and the faces of the serif package."""
    paths = {path.name: path for path in sorted((HERE / "static").iterdir())}
    fonts = Path(font_source_serif_pro.font_directory)
    paths |= {name: fonts / face for name, face in _FACES.items()}
    files = {
        name: Asset(data=path.read_bytes(), content_type=_KINDS[path.suffix])
        for name, path in paths.items()
        if path.suffix in _KINDS
    }
    digest = hashlib.sha256()
    for name in sorted(files):
        digest.update(name.encode() + b"\0" + files[name].data)
    return Assets(digest=digest.hexdigest()[:16], files=files)
