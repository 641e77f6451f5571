"""Waiting for a page without evaluating text inside it, which the room's policy forbids."""

import asyncio
from typing import Any


async def until(page: Any, expression: str, seconds: float = 15.0) -> None:
    """Return once the expression holds in the page; fail after so many seconds.

    On the way to another address a page has no body for a moment: nothing holds then.
    """
    async with asyncio.timeout(seconds):
        while not await page.evaluate(f"document.body !== null && ({expression})"):  # noqa: ASYNC110 - the page rings no bell
            await asyncio.sleep(0.03)


async def pictures(page: Any) -> None:
    """Wait until every picture in sight is there."""
    await until(
        page,
        "[...document.images].every(i => !i.checkVisibility() || (i.complete && i.naturalWidth))",
    )
