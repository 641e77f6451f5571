"""The board of a match from the last row, the referee's page on a phone, and both at once."""

from itertools import pairwise

import pytest

from bot.activities.choir import Steps
from bot.activities.match_sides import Heads
from bot.service.match_values import MatchWish
from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services
from tests.system.test_access import violations
from tests.system.waiting import until

pytestmark = pytest.mark.browser

WISH = MatchWish(
    heads=(Heads(label="Part I", count=7), Heads(label="Part II", count=6)), measures=4, turns=2
)


@pytest.fixture
async def services(tmp_path):
    """A choir in the middle of a term, with a match that is set up and not begun."""
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        choir = house.a_choir(steps=Steps(pitch="p05", rhythm="r05"))
        await found.choirs.add(house.replace(choir, voices=choir.voices[:1]))
        await found.matches.set_up("c1", WISH)
        yield found


async def board(open_page, room, width=1920, height=1080, **options):
    page = await open_page(width=width, height=height, **options)
    await page.goto(room.url + "stage/c1/match")
    await until(page, "document.body.dataset.revision === '0'")
    return page


async def phone(open_page, room, **options):
    page = await open_page(width=360, height=640, **options)
    await page.goto(room.url + "desk/choir/c1/referee")
    await until(page, "document.body.dataset.revision !== undefined")
    return page


async def press(page, *keys):
    """Press keys, each once the call before it was answered."""
    for key in keys:
        before = int(await page.evaluate("document.body.dataset.revision"))
        await page.keyboard.press(key)
        await until(page, f"Number(document.body.dataset.revision) > {before}")


async def tap(page, button):
    """Press a button and wait for the answer: a press while a call is on its way is dropped."""
    before = int(await page.evaluate("document.body.dataset.revision"))
    await button.click()
    await until(page, f"Number(document.body.dataset.revision) > {before}")


async def stop_of(page):
    return await page.evaluate("document.body.dataset.stop")


async def figures(page):
    return [await page.locator(f"#{side} .figure").inner_text() for side in ("left", "right")]


async def test_a_clicker_of_three_keys_plays_a_whole_match(open_page, services, room):
    page = await board(open_page, room)
    seen = []
    for _ in range(80):
        seen.append(await stop_of(page))
        if seen[-1] == "done":
            break
        if seen[-1] == "listen":
            await page.keyboard.press(".")
            assert await page.locator("#choices .marked").inner_text() == "A slip"
        await press(page, "PageDown")
    assert seen[-1] == "done"
    assert {"study", "reading", "measure", "beat", "claim", "answer", "toss"} <= set(seen)
    left, right = await figures(page)
    assert left == right
    (sum_,) = await services.matches.term("c1")
    assert (sum_.ended, str(sum_.left)) == (True, left)


async def test_everything_beside_the_course_is_reached_by_the_choosing_key(
    open_page, services, room
):
    page = await board(open_page, room)
    await page.keyboard.press(".")
    assert await page.locator("#choices .marked").inner_text() == "Remind"
    await press(page, "PageDown")
    assert "one page reads" in await page.locator("#notice").inner_text()
    for _ in range(3):
        await page.keyboard.press(".")
    assert await page.locator("#choices .marked").inner_text() == "Last turns"
    await press(page, "PageDown")
    assert "1 turn left" in await page.locator("#left").inner_text()
    await press(page, "PageUp", "PageUp")
    assert "2 turns left" in await page.locator("#left").inner_text()


async def test_the_line_is_not_seen_before_the_study_and_not_after_the_verdict(open_page, room):
    page = await board(open_page, room)
    line = page.locator("#line svg")
    assert not await line.is_visible()
    await press(page, "PageDown")
    await line.wait_for(state="visible")
    assert "s" in await page.locator("#clock").inner_text()
    await press(page, "PageDown", "2", "2", "PageDown")
    assert await stop_of(page) == "toss"
    assert not await line.is_visible()


async def test_every_beat_of_every_measure_is_numbered_and_a_claim_is_ringed(open_page, room):
    page = await board(open_page, room)
    await press(page, "PageDown", "PageDown")
    await page.wait_for_selector("#line .number")
    numbers = await page.locator("#line .number").all_text_contents()
    beats = max(map(int, numbers))
    assert numbers == [str(beat) for beat in range(1, beats + 1)] * 4
    edges = await page.evaluate(
        "[...document.querySelectorAll('#line .number')].map((n) => n.getBoundingClientRect())"
    )
    for one, other in pairwise(edges):
        assert one["top"] != other["top"] or one["right"] < other["left"]
    await press(page, "2", "2", "c", "3", "2")
    await page.wait_for_selector("#line .place", state="attached")
    chosen = page.locator("#line .chosen")
    assert await chosen.text_content() == "2"
    assert await page.locator("#line .number").nth(2 * beats + 1).get_attribute("class") == (
        "number chosen"
    )


async def test_points_stand_as_figures_and_as_tallies_in_bundles_of_five(open_page, services, room):
    page = await board(open_page, room)
    await press(page, "PageDown", "PageDown", "2", "2", "PageDown", "3")
    side = "left" if (await figures(page))[0] == "7" else "right"
    assert sorted(await figures(page)) == ["0", "7"]
    strokes = await page.locator(f"#{side} .tallies path").get_attribute("d")
    assert strokes.count("M") == 7
    sizes = await page.evaluate(
        f"""['{side}', ['left', 'right'].find(s => s !== '{side}')].map(s =>
          parseFloat(getComputedStyle(document.querySelector(`#${{s}} .figure`)).fontSize))"""
    )
    assert min(sizes) >= 200


async def test_the_baton_points_to_the_side_whose_turn_it_is(open_page, services, room):
    page = await board(open_page, room)
    first = await page.evaluate("document.body.dataset.side")
    assert await page.locator("#baton").get_attribute("data-to") == first
    assert await page.locator(f"#baton .to-{first}").is_visible()
    await press(page, "PageDown", "PageDown", "0", "0", "PageDown")
    other = "right" if first == "left" else "left"
    assert await page.locator("#baton").get_attribute("data-to") == other


async def test_the_referee_calls_and_the_board_follows_at_once(open_page, services, room):
    stage = await board(open_page, room)
    referee = await phone(open_page, room)
    for label in ("Show the line", "Count in", "Read", "Nearly"):
        await tap(referee, referee.get_by_role("button", name=label, exact=True))
    await until(stage, "document.body.dataset.stop === 'listen'")
    assert sorted(await figures(stage)) == ["0", "3"]
    assert await figures(stage) == await figures(referee)
    await referee.get_by_role("button", name="Undo").click()
    await until(stage, "document.body.dataset.stop === 'reading'")
    assert sorted(await figures(stage)) == ["0", "2"]


async def test_buttons_are_for_a_thumb_and_undo_never_moves(open_page, services, room):
    referee = await phone(open_page, room)
    undo = referee.get_by_role("button", name="Undo")
    assert await undo.is_disabled()
    places = set()
    for name in ("Show the line", "Count in", "Read", "Read", "A slip", "4", "1", "Yes, there",
                 "Read well", "2 in"):  # fmt: skip
        buttons = referee.locator("#offers button")
        for number in range(await buttons.count()):
            box = await buttons.nth(number).bounding_box()
            assert min(box["width"], box["height"]) >= 44
        places.add(tuple((await undo.bounding_box()).values()))
        await tap(referee, buttons.get_by_text(name, exact=True))
    assert len(places) == 1
    assert await referee.evaluate("document.documentElement.scrollWidth <= innerWidth")


async def test_two_presses_at_once_are_one_call(open_page, services, room):
    stage = await board(open_page, room)
    referee = await phone(open_page, room)
    for page in (stage, referee):
        await page.route("**/call", lambda route: route.continue_())
    await referee.evaluate(
        """() => { const go = document.querySelector('#offers button'); go.click(); go.click(); }"""
    )
    await until(stage, "document.body.dataset.revision === '1'")
    match = await services.matches.open_of("c1")
    assert match.revision == 1


async def test_a_board_that_is_loaded_again_stands_where_the_match_stands(open_page, room):
    page = await board(open_page, room)
    await press(page, "PageDown", "PageDown", "2")
    before = await figures(page)
    await page.reload()
    await until(page, "document.body.dataset.revision === '3'")
    assert await stop_of(page) == "reading"
    assert await figures(page) == before
    # Nothing is told a second time.
    assert await page.locator("#notice").inner_text() == ""


async def test_no_page_of_the_match_has_a_fault_that_axe_core_knows(open_page, services, room):
    stage = await board(open_page, room, 1280, 720)
    referee = await phone(open_page, room, color_scheme="dark")
    assert await violations(stage) == []
    await press(stage, "PageDown", "PageDown", "2", "2", "c", "1", "1")
    await until(referee, "document.body.dataset.stop === 'claim'")
    for scheme in ("dark", "light"):
        await stage.emulate_media(color_scheme=scheme)
        assert await violations(stage) == []
    assert await violations(referee) == []
    await referee.goto(room.url + "desk/choir/c1/match")
    assert await violations(referee) == []


@pytest.mark.parametrize(("width", "height"), [(1920, 1080), (1280, 720)])
async def test_the_last_row_can_read_every_word_of_the_board(
    open_page, services, room, width, height
):
    page = await board(open_page, room, width, height)
    for keys in ((), ("PageDown", "PageDown"), ("2", "2", "c", "2", "1")):
        await press(page, *keys)
        await page.wait_for_selector("#line svg", state="attached")
        sizes = await page.evaluate(
            """() => [...document.querySelectorAll('body *')]
              .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
              .filter(e => e.checkVisibility({ visibilityProperty: true }))
              .filter(e => !e.classList.contains('heard') && !e.closest('svg'))
              .map(e => parseFloat(getComputedStyle(e).fontSize))"""
        )
        assert min(sizes) >= 32
        inside = await page.evaluate(
            """() => ['heading', 'hint', 'choices', 'keys'].every(id => {
              const box = document.getElementById(id).getBoundingClientRect();
              return box.right <= innerWidth + 1 && box.bottom <= innerHeight + 1;
            })"""
        )
        assert inside
        assert await page.evaluate("document.documentElement.scrollHeight <= innerHeight")


async def test_the_key_sounds_before_the_study_and_a_count_in_before_the_reading(open_page, room):
    page = await board(open_page, room)
    asked = []
    page.on("response", lambda answer: asked.append((answer.url.split("/")[-1], answer.status)))
    await press(page, "PageDown")
    async with page.expect_response("**/start.mp3*", timeout=20_000):
        pass
    assert ("key.mp3?shift=0", 200) in asked
    await until(page, "!document.getElementById('clock').hidden")
    heading = await page.locator("#heading").inner_text()
    assert (await page.locator("#told").inner_text()).count(heading) == 1
    first = int((await page.locator("#clock").inner_text()).split()[0])
    assert first <= 20
    await press(page, "PageDown")
    await until(page, "document.querySelector('#beats .on') !== null")
    assert await page.locator("#beats").get_attribute("class") == "stage-beats counting"
    assert await page.locator("#clock").is_hidden()
    # The line itself is never given.
    assert not [name for name, _ in asked if name.startswith("line")]


async def test_a_match_is_set_up_once_and_says_that_it_takes_a_while(open_page, services, room):
    page = await open_page(width=1280, height=800)
    await page.goto(room.url + "desk/choir/c1/match")
    await page.locator("summary", has_text="Another match").click()
    await page.get_by_label("Singers in Part I today").fill("11")
    told = await page.evaluate(
        """() => {
          const form = document.querySelector('form[data-drawing]');
          const button = form.querySelector('button[type=submit]');
          button.click();
          button.click();
          return form.querySelector('[role=status]').textContent;
        }"""
    )
    assert told.startswith("Pages and lines are being drawn.")
    await page.get_by_text("It is next in line.").wait_for()
    await services.makings.round()
    # The page loads itself anew when all is drawn.
    await page.locator("table.kept tbody tr").nth(1).wait_for()
    assert len(await services.matches.term("c1")) == 2  # the fixture's and this one
