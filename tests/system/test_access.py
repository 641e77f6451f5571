"""WCAG 2.2 AA by axe-core on every page, in both schemes, with everything unfolded."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import axe_core_python
import pytest

from bot.service.services import Services
from tests.chat import house

pytestmark = pytest.mark.browser

_AXE = (Path(axe_core_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
_RUN = "axe.run(document, { runOnly: %r, resultTypes: ['violations'] })" % (_TAGS,)  # noqa: UP031


def _as_it_is(services: Services) -> None:
    """One choir, five sheets."""


def _two_choirs_in_trouble(services: Services) -> None:
    services.choirs.kept["c2"] = house.a_choir("c2", "Tenor-Bass Choir")
    services.status.unsure = (house.MONDAY,)


def _nothing_up(services: Services) -> None:
    services.readings.up = []


def _no_choir(services: Services) -> None:
    services.choirs.kept.clear()


def _locked(services: Services) -> None:
    services.desk.passphrase = house.PASSPHRASE


PAGES: list[tuple[str, Callable[[Services], None]]] = [
    ("", _as_it_is),
    ("", _two_choirs_in_trouble),
    ("", _nothing_up),
    ("choir/c1/folder", _as_it_is),
    ("reading/c1-20251124", _as_it_is),
    ("reading/c1-20251124/part/1", _as_it_is),
    ("nowhere", _as_it_is),
    ("desk", _no_choir),
    ("desk", _two_choirs_in_trouble),
    ("desk", _locked),
    ("desk/choir/new", _as_it_is),
    ("desk/choir/c1", _two_choirs_in_trouble),
    ("desk/choir/c1/settings", _as_it_is),
    ("desk/choir/c1/remove", _as_it_is),
    ("desk/status", _two_choirs_in_trouble),
    ("desk/passphrase", _as_it_is),
]


async def violations(page: Any) -> list[str]:
    """What axe-core finds, one line each. The page's own policy lets no script in but ours, so the
    checker comes by the debugging protocol."""
    client = await page.context.new_cdp_session(page)
    await client.send("Runtime.evaluate", {"expression": _AXE})
    found = await client.send(
        "Runtime.evaluate",
        {"expression": _RUN, "awaitPromise": True, "returnByValue": True},
    )
    return [
        f"{fault['id']}: {node['target']} {node['failureSummary']}"
        for fault in found["result"]["value"]["violations"]
        for node in fault["nodes"]
    ]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("path", "prepare"), PAGES)
async def test_a_page_has_no_fault_that_axe_core_knows(
    open_page, room, services, path, prepare, scheme
):
    prepare(services)
    page = await open_page(color_scheme=scheme)
    await page.goto(room.url + path)
    await page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")

    assert await violations(page) == []


async def test_a_form_with_faults_has_no_fault_of_access(open_page, room):
    page = await open_page()
    await page.goto(room.url + "desk/choir/new")
    await page.get_by_role("button", name="Start").click()
    await page.locator("#faults").wait_for()
    assert await violations(page) == []


async def test_the_checker_does_find_faults(open_page, room):
    page = await open_page()
    await page.goto(room.url)
    await page.evaluate(
        "document.querySelectorAll('.music img').forEach(i => i.removeAttribute('alt'))"
    )
    assert any(line.startswith("image-alt") for line in await violations(page))
