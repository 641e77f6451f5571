"""The desk in a real browser: a choir in under two minutes, by keyboard, and the lock."""

import asyncio
import io
import time

import pytest

from bot.errors import Fault
from tests.chat import house
from tests.system.waiting import pictures, until

pytestmark = pytest.mark.browser


async def test_the_first_choir_is_set_up_by_keyboard_alone(open_page, services, room):
    services.choirs.kept.clear()
    services.readings.up = []
    page = await open_page(timezone_id="America/Denver")
    await page.goto(room.url)
    began = time.monotonic()

    await page.get_by_label("Name of the choir").focus()
    await page.keyboard.type("Period 3")
    await _tab_to(page, "step_pitch")
    await page.keyboard.type("3")
    await _tab_to(page, "Start")
    await page.keyboard.press("Enter")

    await page.get_by_text("The choir is set up.").wait_for()
    assert time.monotonic() - began < 30
    (choir,) = services.choirs.kept.values()
    assert choir.name == "Period 3"
    assert choir.steps.pitch == "p03"
    assert choir.zone == "America/Denver"


async def _tab_to(page, name: str) -> None:
    """Press Tab until the field or button of that name has the focus."""
    at = "document.activeElement.id || document.activeElement.textContent"
    for _ in range(15):
        await page.keyboard.press("Tab")
        if await page.evaluate(at) == name:
            return
    raise AssertionError(f"Tab does not lead to {name}")


async def test_without_scripts_a_choir_can_be_set_up_too(open_page, services, room):
    services.choirs.kept.clear()
    page = await open_page(java_script_enabled=False)
    await page.goto(room.url)

    await page.get_by_label("Name of the choir").fill("Period 3")
    await page.get_by_role("button", name="Start").click()

    await page.get_by_text("The choir is set up.").wait_for()


async def test_an_example_follows_the_choice_of_steps_and_says_why_there_is_none(open_page, room):
    page = await open_page()
    await page.goto(room.url + "desk/choir/new")
    example = page.locator("#example img")
    await until(page, "document.querySelector('#example img').naturalWidth > 0")
    before = await example.get_attribute("src")

    await page.get_by_label("Pitch").select_option("p03")
    assert await page.locator("#example").get_attribute("aria-busy") == "true"
    await until(page, f"document.querySelector('#example img').getAttribute('src') !== '{before}'")
    await until(page, "!document.querySelector('#example').hasAttribute('aria-busy')")
    await page.get_by_label("Pitch").select_option("p01")
    for voice in ("Changing voices", "Baritone, changed voices"):
        await page.locator("#voices").get_by_label(voice, exact=False).first.check()

    await page.locator("#example .fault").wait_for()
    assert not await example.is_visible()


async def test_a_choir_chooses_its_order_of_steps_and_sees_those_steps_only(
    open_page, services, room
):
    services.choirs.kept.clear()
    page = await open_page()
    await page.goto(room.url + "desk/choir/new")
    steps = page.locator("#step_pitch option")
    assert "do re mi" in await steps.first.text_content()

    await page.locator("[name=sequence]").select_option("two-tones-first")
    assert "so and mi" in await steps.first.text_content()
    assert await page.locator("#step_pitch optgroup").count() == 1
    await page.locator("#step_pitch").select_option("p05")
    await page.locator("#example").wait_for()
    await page.get_by_label("Name of the choir").fill("Period 4")
    await page.get_by_role("button", name="Start").click()

    await page.get_by_text("The choir is set up.").wait_for()
    (choir,) = services.choirs.kept.values()
    assert (choir.steps.sequence, choir.steps.pitch) == ("two-tones-first", "p05")


async def test_fields_show_only_what_the_choice_before_them_needs(open_page, room):
    page = await open_page()
    await page.goto(room.url + "desk/choir/new")
    await page.locator(".more-fields > summary").click()
    assert not await page.get_by_label("Days in the rotation").is_visible()
    assert await page.locator("[data-voice=treble]").is_visible()
    assert not await page.locator("[data-voice=baritone]").is_visible()

    await page.get_by_label("on a rotation, such as A/B").check()
    await page.locator("#voices input[value=baritone]").check()

    assert await page.get_by_label("Days in the rotation").is_visible()
    assert await page.locator("[data-voice=baritone]").is_visible()


async def test_faults_take_the_focus_and_lead_to_their_fields(open_page, room):
    page = await open_page()
    await page.goto(room.url + "desk/choir/new")
    await page.get_by_role("button", name="Start").click()
    await page.locator("#faults").wait_for()
    assert await page.evaluate("document.activeElement.id") == "faults"

    await page.keyboard.press("Tab")
    await page.keyboard.press("Enter")

    assert await page.evaluate("document.activeElement.id") == "name"


async def test_own_music_with_faults_says_them_beside_the_file(open_page, services, room):
    services.readings.own_faults = (Fault(place="measure 2, beat 3", problem="too high"),)
    page = await open_page()
    await page.goto(room.url + "desk/choir/c1")
    day = page.locator("#day-2025-11-25")
    await day.get_by_text("Use my own music").click()
    await day.get_by_label("File of music").set_input_files(
        {"name": "tune.musicxml", "mimeType": "application/xml", "buffer": b"<score-partwise/>"}
    )

    await day.get_by_role("button", name="Use this music").click()

    await day.get_by_text("measure 2, beat 3: too high").wait_for()
    assert await day.get_by_label("File of music").is_visible()


async def test_the_coming_week_is_seen_in_pictures(open_page, room):
    page = await open_page()
    await page.goto(room.url + "desk/choir/c1")
    assert await page.locator(".day").count() == 5
    await page.locator(".day").last.scroll_into_view_if_needed()
    await pictures(page)


async def _sign_in(page, services, room) -> None:
    services.desk.passphrase = house.PASSPHRASE
    await page.goto(room.url + "desk")
    await page.get_by_label("Passphrase").fill(house.PASSPHRASE)
    await page.keyboard.press("Enter")
    await page.get_by_role("heading", name="Desk", exact=True).wait_for()


async def test_ten_idle_minutes_take_the_desk_out_of_sight(open_page, services, room):
    page = await open_page()
    await page.clock.install()
    await _sign_in(page, services, room)

    await page.clock.run_for(9 * 60 * 1000)
    assert await page.get_by_role("heading", name="Desk", exact=True).is_visible()
    await page.clock.run_for(70 * 1000)

    await page.get_by_role("heading", name="The desk is locked").wait_for()


async def test_a_form_half_filled_comes_back_after_the_lock(open_page, services, room):
    page = await open_page()
    await page.clock.install()
    await _sign_in(page, services, room)
    await page.goto(room.url + "desk/choir/new")
    await page.get_by_label("Name of the choir").fill("Half a name & more")

    await page.clock.run_for(11 * 60 * 1000)
    await page.get_by_role("heading", name="The desk is locked").wait_for()
    assert len(services.choirs.kept) == 1
    await page.get_by_label("Passphrase").fill(house.PASSPHRASE)
    await page.keyboard.press("Enter")
    await page.get_by_role("button", name="Send it").click()

    await page.get_by_text("The choir is set up.").wait_for()
    assert [choir.name for choir in services.choirs.kept.values()][-1] == "Half a name & more"


async def test_the_lock_is_one_press_away(open_page, services, room):
    page = await open_page()
    await _sign_in(page, services, room)
    await page.get_by_role("button", name="Lock the desk").click()
    await page.goto(room.url + "desk")
    assert await page.get_by_role("heading", name="The desk is locked").is_visible()


async def test_a_page_of_another_site_cannot_post_to_the_desk(open_page, services, room):
    page = await open_page()
    evil = io.StringIO()
    evil.write(f'<form method="post" action="{room.url}desk/choir/c1/remove"><button>go</button>')
    await page.route("http://localhost:1/", lambda route: route.fulfill(body=evil.getvalue(),
        content_type="text/html"))  # fmt: skip
    await page.goto("http://localhost:1/")

    await page.get_by_role("button", name="go").click()

    await page.get_by_text("nothing was changed").wait_for()
    assert "c1" in services.choirs.kept


async def test_a_form_that_a_quick_hand_sends_twice_is_sent_once(
    open_page, services, room, monkeypatch
):
    services.choirs.kept.clear()
    add = services.choirs.add

    async def slowly(choir):
        await asyncio.sleep(0.4)
        await add(choir)

    monkeypatch.setattr(services.choirs, "add", slowly)
    page = await open_page()
    await page.goto(room.url + "desk/choir/new")
    await page.get_by_label("Name of the choir").fill("Period 3")
    shown = await page.evaluate(
        """async () => {
          const button = document.querySelector("#choir-form button[type=submit]");
          button.focus();
          button.click();
          await new Promise((done) => setTimeout(done, 200));
          button.click();
          return [button.ariaDisabled, document.activeElement === button];
        }"""
    )

    await page.get_by_text("The choir is set up.").wait_for()
    assert shown == ["true", True]
    assert [choir.name for choir in services.choirs.kept.values()] == ["Period 3"]
