"""What every test may ask for: a browser that is really there, or a skip that says so.

The browser is Debian's Chromium, driven by playwright's *async* interface, so that a test, the room
it looks at and a clock set by hand share one event loop (the sync interface leaves a running loop
behind in the thread, and every async test after it fails). The tests of a process share one
browser, whose start costs a second; what a page may keep (cookies, storage) each test has for
itself.

    async def test_the_board_shows_todays_line(open_page, room):
        page = await open_page(width=360)
        await page.goto(room.url)
        assert await page.get_by_role("heading").first.inner_text() == "..."

Such tests carry the mark `browser` by themselves: `pytest -m "not browser"` leaves them out.
"""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator, Awaitable, Callable
from typing import Any
from urllib.parse import urlsplit

import pytest
from hypothesis import settings
from playwright.async_api import Browser, Page, Request, async_playwright

# Two busy cores make a time limit per example a matter of luck; the suite has a limit as a whole.
settings.register_profile("riserbell", deadline=None)
settings.load_profile("riserbell")

_ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # A test has no finger to press with, so sounds may start without one.
    "--autoplay-policy=no-user-gesture-required",
]
_HERE = {"127.0.0.1", "localhost", "::1", None}

OpenPage = Callable[..., Awaitable[Page]]


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark whatever asks for a browser."""
    for item in items:
        if "chromium_path" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Where Debian's Chromium stands; the test skips where there is none."""
    found = shutil.which("chromium")
    if found is None:
        pytest.skip("no Chromium on this machine (Debian: apt-get install chromium)")
    return found


@pytest.fixture(scope="session")
async def browser(chromium_path: str) -> AsyncIterator[Browser]:
    """A Chromium, closed when the last test is over."""
    async with async_playwright() as playwright:
        chromium = await playwright.chromium.launch(executable_path=chromium_path, args=_ARGUMENTS)
        yield chromium
        await chromium.close()


@pytest.fixture
async def open_page(browser: Browser) -> AsyncIterator[OpenPage]:
    """Open a page: `await open_page(width=360, height=800, **context_options)`.

    Every page has a context (cookies, storage) of its own. A request that would leave this machine
    and an error in a page's script fail the test at its end.
    """
    faults: list[str] = []

    def note_request(request: Request) -> None:
        address = urlsplit(request.url)
        if address.scheme not in ("data", "blob", "about") and address.hostname not in _HERE:
            faults.append(f"asked another machine for {request.url}")

    async def open_one(width: int = 1280, height: int = 800, **options: Any) -> Page:
        context = await browser.new_context(viewport={"width": width, "height": height}, **options)
        page = await context.new_page()
        page.on("request", note_request)
        page.on("pageerror", lambda error: faults.append(f"script error: {error}"))
        return page

    yield open_one
    for context in browser.contexts:
        await context.close()
    assert not faults, "\n".join(faults)
