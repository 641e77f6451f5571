"""The machine's own time zone, the first guess for a choir's."""

from __future__ import annotations

from pathlib import Path
from zoneinfo import available_timezones


def machine_zone(link: Path = Path("/etc/localtime")) -> str:
    """The machine's zone by its IANA name, or UTC where it does not tell."""
    parts = link.resolve().parts
    if "zoneinfo" in parts:
        name = "/".join(parts[parts.index("zoneinfo") + 1 :])
        if name in available_timezones():
            return name
    return "UTC"
