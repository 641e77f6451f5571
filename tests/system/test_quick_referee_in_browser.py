"""A referee who is quicker than the room: what is on its way is seen, and goes once."""

import asyncio

import pytest

from tests.system.test_match_in_browser import phone, services
from tests.system.waiting import until

__all__ = ["services"]
pytestmark = pytest.mark.browser


async def test_a_call_on_its_way_is_seen_and_keeps_the_focus(open_page, room):
    page = await phone(open_page, room)
    answered, calls = asyncio.Event(), []

    async def slowly(route):
        calls.append(route.request.post_data)
        await answered.wait()
        await route.continue_()

    await page.route("**/call", slowly)
    other = page.locator("#asides button").first
    await page.locator("#offers button").first.focus()
    await page.keyboard.press("Enter")
    await until(page, "document.body.classList.contains('waiting')")

    buttons = "[...document.querySelectorAll('#main button')]"
    assert await page.evaluate(f"{buttons}.every(b => b.ariaDisabled === 'true')")
    assert await page.evaluate("document.activeElement.matches('#offers button')")
    await other.click(force=True)
    await until(page, f"getComputedStyle({buttons}[0]).opacity < 0.6")
    answered.set()
    await until(page, "document.body.dataset.revision === '1'")
    await until(page, f"{buttons}.every(b => b.ariaDisabled === null)")
    assert await page.evaluate("document.activeElement.closest('#asides, #offers') !== null")
    assert len(calls) == 1
