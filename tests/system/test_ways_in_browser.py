"""Other ways on the stage in a real browser: arrows, answer page, covered measures, echoes."""

from itertools import pairwise

import pytest

from tests.chat.lesson_house import a_line_of
from tests.system.waiting import until

pytestmark = pytest.mark.browser

_Q = "1/4"
LINE = tuple(((0, _Q), (2, _Q), (1, _Q), (step, _Q)) for step in (0, 1, 2, 1, 0, 2, 1, 0))


async def on_stage(open_page, room, services, way):
    services.lesson.exercise = a_line_of(LINE)
    page = await open_page(width=1280, height=720)
    await page.goto(f"{room.url}stage/c1?way={way}")
    await page.wait_for_selector("#line svg")
    return page


async def go_to(page, stop):
    while await page.evaluate("document.body.dataset.stop") != stop:
        await page.keyboard.press("PageDown")


async def test_from_the_right_arrows_stand_over_both_staves_until_the_answer_comes(
    open_page, room, services
):
    page = await on_stage(open_page, room, services, "plain")
    # The list of ways is worked by a clicker that presses the arrows, too.
    await page.keyboard.press("w")
    await page.get_by_role("dialog").wait_for()
    await page.keyboard.press(".")
    await page.keyboard.press("ArrowRight")
    await page.wait_for_url("**way=retrograde**")
    await page.wait_for_selector("#line .from-right", state="attached")
    arrows = page.locator("#line .from-right")
    assert (await arrows.get_attribute("d")).count("M") == 2 * 2
    assert "last note" in await page.locator("#hint").inner_text()
    heads = "[...document.querySelectorAll('#line [data-note]')].map(g => g.dataset.box).join()"
    plain = await page.evaluate(heads)
    await go_to(page, "held")
    await until(page, f"{heads} !== '{plain}'")
    assert await arrows.count() == 0
    await page.keyboard.press("PageUp")
    await until(page, f"{heads} === '{plain}'")
    assert await arrows.count() == 1


async def test_measures_are_covered_while_they_sing_and_not_while_they_study(
    open_page, room, services
):
    page = await on_stage(open_page, room, services, "hidden-measures")
    covers = page.locator("#line .cover")
    await go_to(page, "look")
    assert await covers.count() == 0
    await go_to(page, "first")
    assert await covers.count() == 2
    edge = await page.locator("#line > svg").bounding_box()
    for n in range(2):
        box = await covers.nth(n).bounding_box()
        assert box["width"] > 60
        assert box["x"] + box["width"] <= edge["x"] + edge["width"]
    await go_to(page, "mend")
    assert await covers.count() == 0


async def test_an_echo_tells_each_side_its_turn_and_that_it_was_read_is_told_once(
    open_page, room, services
):
    services.lesson.exercise = a_line_of((((0, _Q), (2, _Q)), ((1, _Q), (0, _Q))), "2/4")
    page = await open_page(width=1280, height=720)
    told = []
    page.on("request", lambda request: "/read?" in request.url and told.append(request.url))
    await page.goto(f"{room.url}stage/c1?way=echo-halves")
    await page.wait_for_selector("#line svg")
    await page.evaluate(
        """() => {
          window.said = [];
          const note = () => {
            const { stop, running } = document.body.dataset;
            const hint = document.getElementById('hint').textContent;
            if (stop === 'first' && running === 'pulse' && said.at(-1) !== hint) said.push(hint);
          };
          const whole = { attributes: true, childList: true, subtree: true };
          new MutationObserver(note).observe(document.body, whole);
        }"""
    )
    for _ in range(20):
        await page.keyboard.press("+")
    await go_to(page, "first")
    assert "One side sings a half" in await page.locator("#hint").inner_text()
    await until(page, "document.body.dataset.running === 'nothing'")
    one, other = "One side sings, the other listens.", "Now the other side sings it after them."
    assert await page.evaluate("window.said") == [one, other, one, other]
    assert [url.partition("/stage/")[2] for url in told] == ["c1/today/read?way=echo-halves"]


async def test_numbers_of_a_held_note_end_before_those_of_the_next_measure(
    open_page, room, services
):
    """As the board of a match draws them; any page of the stage can load it."""
    page = await on_stage(open_page, room, services, "plain")
    places = await page.evaluate(
        """async () => {
          const script = document.querySelector('script[type=module]').src;
          const { showNumbers } = await import(new URL('match-board.js', script));
          const marks = document.createElementNS('http://www.w3.org/2000/svg', 'g');
          const box = { y: 0, width: 18, height: 10 };
          const whole = (measure, x) => (
            { part: 0, measure, at: 4 * measure - 4, length: 4, box: { ...box, x } }
          );
          const staves = [{ top: 0, bottom: 40, right: 260 }];
          const signs = [whole(1, 100), whole(2, 170)];
          showNumbers({ marks, signs, staves, space: 10 }, [0, 0]);
          return [...marks.children].map((number) => Number(number.getAttribute('x')));
        }"""
    )
    assert len(places) == 8
    assert all(other - one > 10 for one, other in pairwise(places))
    assert places[-1] < 260
