"""The stage in a real browser, by keyboard alone, from the last row."""

from dataclasses import replace

import pytest

from bot.activities.choir import Hearing
from bot.activities.routine import Stop
from bot.errors import NoExercise
from tests.chat import house
from tests.chat.lesson_house import a_line_of
from tests.system.waiting import until

pytestmark = pytest.mark.browser

SIZES = [(1920, 1080), pytest.param(1280, 720, marks=pytest.mark.long)]
_Q = "1/4"
SHORT = (((0, _Q), (2, _Q), (1, _Q), (0, _Q)),)


async def on_stage(open_page, room, width=1280, height=720, **options):
    page = await open_page(width=width, height=height, **options)
    await page.goto(room.url + "stage")
    await page.wait_for_selector("#line svg")
    return page


async def press(page, *keys):
    for key in keys:
        await page.keyboard.press(key)


async def stop_of(page):
    return await page.evaluate("document.body.dataset.stop")


async def ended(page):
    await until(page, "document.body.dataset.running === 'nothing'", 30)


@pytest.mark.parametrize(("width", "height"), SIZES)
async def test_a_clicker_runs_the_whole_routine(open_page, services, room, width, height):
    services.lesson.exercise = a_line_of(SHORT)
    page = await on_stage(open_page, room, width, height)
    await press(page, *["+"] * 20)
    seen, heads = [], []
    for _ in range(12):
        await press(page, "PageDown")
        await ended(page)
        seen.append(await stop_of(page))
        heads.append(await page.locator("h2").inner_text())
        in_sight = await page.locator("h2").bounding_box()
        assert in_sight["y"] + in_sight["height"] <= height
    assert seen == [*[stop.value for stop in Stop][1:11], "held", "done"]
    assert heads[0] == "The key"
    assert services.lesson.opened == {"today"}


@pytest.mark.parametrize("keys", [("PageDown", "PageUp"), ("ArrowRight", "ArrowLeft")])
async def test_every_kind_of_clicker_goes_on_and_back(open_page, room, keys):
    page = await on_stage(open_page, room)
    await press(page, keys[0], keys[0], keys[0])
    assert await stop_of(page) == "look"
    await press(page, keys[1])
    assert await stop_of(page) == "start"


async def test_a_press_is_answered_at_once(open_page, room):
    page = await on_stage(open_page, room)
    took = await page.evaluate(
        """() => new Promise(done => {
          const began = performance.now();
          new MutationObserver(() => done(performance.now() - began)).observe(
            document.getElementById('stop'), { childList: true });
          document.dispatchEvent(new KeyboardEvent('keydown', { key: 'PageDown' }));
        })"""
    )
    assert took < 50


async def test_the_bracket_moves_over_the_measures(open_page, room):
    page = await on_stage(open_page, room)
    await press(page, *["PageDown"] * 7)
    assert await stop_of(page) == "mend"
    bracket = page.locator("#line .bracket")
    places = []
    for _ in range(8):
        places.append(await bracket.bounding_box())
        await press(page, "ArrowRight")
    assert [places[n]["x"] < places[n + 1]["x"] for n in (0, 1, 2, 4, 5, 6)] == [True] * 6
    assert places[4]["y"] > places[3]["y"] + places[3]["height"]
    assert await stop_of(page) == "second"
    assert await bracket.count() == 1


async def test_the_line_is_not_heard_before_it_was_sung(open_page, services, room):
    page = await on_stage(open_page, room)
    await press(page, "h")
    assert await page.locator("#notice").inner_text() == "The line is heard after it was sung once."
    await press(page, *["PageDown"] * 6, "h", "PageDown", "h", "PageDown", "h", "PageDown")
    assert await stop_of(page) == "held"
    assert services.lesson.opened == set()


async def test_the_cursor_follows_the_sound_in_the_picture(open_page, services, room):
    services.lesson.exercise = a_line_of(SHORT * 2)
    page = await on_stage(open_page, room)
    await press(page, *["+"] * 15, *["PageDown"] * 6)
    await until(page, "document.body.dataset.running === 'pulse'")
    await press(page, "h")
    await page.wait_for_selector("#line .cursor", state="attached")
    await page.evaluate(
        """() => {
          window.seen = [];
          const look = () => {
            const cursor = document.querySelector('#line .cursor');
            if (cursor?.dataset.number) window.seen.push(Number(cursor.dataset.number));
            if (cursor) requestAnimationFrame(look);
          };
          look();
        }"""
    )
    await ended(page)
    seen = list(dict.fromkeys(await page.evaluate("window.seen")))
    assert seen == list(range(seen[0], 8))
    assert seen[0] <= 2


async def test_the_key_moves_by_half_steps_until_a_part_cannot_follow(open_page, services, room):
    """The line goes from F to C: a baritone has nothing above it and a fifth below."""
    choir = services.choirs.kept["c1"]
    services.choirs.kept["c1"] = replace(choir, voices=(choir.voices[0], choir.voices[2]))
    page = await on_stage(open_page, room)
    drawn = "document.querySelector('#line svg').innerHTML"
    in_f = await page.evaluate(drawn)

    await press(page, "ArrowUp")
    sharp = page.locator("#notice .heard")
    assert "major is out of reach for Part III." in await page.locator("#notice").inner_text()
    assert await sharp.inner_text() == "sharp"
    assert await page.locator("#key").inner_text() == "F major"

    await press(page, "ArrowDown")
    assert await page.locator("#key").inner_text() == "E major"
    await until(page, f"{drawn}.length !== {len(in_f)}")
    await press(page, *["ArrowDown"] * 7)
    assert await page.locator("#notice").inner_text() == "The stage goes no farther."


async def test_the_tempo_moves_in_the_steps_of_a_metronome(open_page, room):
    page = await on_stage(open_page, room)
    await press(page, "+")
    assert await page.locator("#bpm").inner_text() == "72"
    await press(page, "-", "-")
    assert await page.locator("#bpm").inner_text() == "66"
    assert await page.locator("#notice").inner_text() == "66 beats a minute"


async def test_the_clock_runs_while_the_line_is_studied(open_page, room):
    page = await on_stage(open_page, room)
    await press(page, *["PageDown"] * 3, "t")
    await until(page, "document.getElementById('clock').textContent === '0:01'")
    await press(page, "PageDown")
    assert not await page.locator("#clock").is_visible()


async def test_another_like_it_and_the_next_choir_are_a_letter_away(open_page, services, room):
    services.choirs.kept["c2"] = house.a_choir("c2", "Tenor-Bass Choir")
    page = await on_stage(open_page, room)
    await press(page, "a")
    await page.wait_for_url("**/stage/c1?reading=another")
    await page.wait_for_selector("#line svg")
    await press(page, "c")
    await page.wait_for_url("**/stage/c2")
    assert "Tenor-Bass Choir" in await page.locator("h1").inner_text()


async def test_when_no_line_is_left_the_stage_says_so_and_stays(open_page, services, room):
    services.lesson.refusal = NoExercise("refusal.all-read", count=7)
    page = await on_stage(open_page, room)
    await press(page, "a")
    await until(page, "document.getElementById('notice').textContent.startsWith('All 7 lines')")
    assert await stop_of(page) == "ready"


async def test_a_room_that_does_not_answer_is_told_in_words(open_page, services, room):
    services.lesson.exercise = a_line_of(SHORT)
    page = await on_stage(open_page, room)
    await page.context.route("**/another", lambda route: route.abort())
    await press(page, "a")
    await until(page, "document.getElementById('notice').textContent.includes('does not answer')")


@pytest.mark.long
async def test_a_choir_that_hears_no_lines_passes_hearing_over(open_page, services, room):
    services.lesson.exercise = a_line_of(SHORT)
    services.choirs.kept["c1"] = replace(services.choirs.kept["c1"], hearing=Hearing.NEVER)
    page = await on_stage(open_page, room)
    await press(page, *["+"] * 20)
    for _ in range(9):
        await press(page, "PageDown")
        await ended(page)
    assert await stop_of(page) == "held"
    assert services.lesson.opened == set()
    await press(page, "h")
    assert "let nobody hear the line" in await page.locator("#notice").inner_text()


async def test_a_picture_that_fails_at_first_is_asked_for_again(open_page, services, room):
    page = await open_page()
    failures = iter([True, True])

    async def now_and_then(route):
        await (route.abort() if next(failures, False) else route.continue_())

    await page.route("**/picture.svg*", now_and_then)
    await page.goto(room.url + "stage")
    await page.wait_for_selector("#line svg")
    assert await page.locator("#notice").inner_text() == ""
