"""The command line: the one place that prints."""

from __future__ import annotations


def main() -> int:
    """Run one command; the exit code is 0, or 2 where the input was wrong."""
    return 0
