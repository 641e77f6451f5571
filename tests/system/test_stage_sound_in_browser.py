"""What the stage sounds, read off the browser's own schedule: count-in, pulse, drone, silence."""

from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest

from tests.chat.lesson_house import a_line_of
from tests.system.test_stage_in_browser import ended, on_stage, press, stop_of
from tests.system.waiting import until

pytestmark = pytest.mark.browser

_Q = "1/4"
# Notes down what the page asks of Web Audio, and when by its clock; everything still sounds.
_EARS = """
const set = AudioParam.prototype.setValueAtTime;
AudioParam.prototype.setValueAtTime = function (value, at) {
  this.set = value;
  return set.call(this, value, at);
};
window.ticks = []; window.sounds = []; window.contexts = [];
const struck = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (at) {
  window.ticks.push({ at, hertz: this.frequency.set, now: this.context.currentTime });
  return struck.call(this, at);
};
const played = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (at, from) {
  window.sounds.push({ at, from, loop: this.loop, start: this.loopStart, end: this.loopEnd,
                       seconds: this.buffer.duration, now: this.context.currentTime });
  return played.call(this, at, from);
};
const Made = AudioContext;
window.AudioContext = class extends Made {
  constructor() { super(); window.contexts.push(this); }
};
"""
LINES = {
    "4/4": (((0, _Q), (1, _Q), (2, _Q), (0, _Q)),) * 2,
    "3/4": (((0, _Q), (1, _Q), (0, _Q)),) * 2,
    "2/4": (((0, _Q), (0, _Q)),) * 2,
    "6/8": (((0, "3/8"), (0, "3/8")),) * 2,
}


async def with_ears(open_page, room, **options: Any) -> Any:
    """A stage that notes down its sounds."""

    async def listening(**size: Any) -> Any:
        page = await open_page(**size, **options)
        await page.add_init_script(_EARS)
        return page

    return await on_stage(listening, room)


async def ticks_of(page: Any) -> list[dict[str, float]]:
    found: list[dict[str, float]] = await page.evaluate("window.ticks.splice(0)")
    return found


@pytest.mark.parametrize(("metre", "counted"), [("4/4", 4), ("3/4", 6), ("2/4", 4), ("6/8", 4)])
async def test_one_measure_is_counted_in_four_and_two_in_two_and_three(
    open_page, services, room, metre, counted
):
    services.lesson.exercise = a_line_of(LINES[metre], metre)
    page = await with_ears(open_page, room)
    await press(page, "-", "-")
    bpm = int(await page.locator("#bpm").inner_text())

    await press(page, *["PageDown"] * 6)

    assert await stop_of(page) == "first"
    ticks = (await ticks_of(page))[-counted:]
    each = 60 / bpm
    gaps = [after["at"] - before["at"] for before, after in pairwise(ticks)]
    assert len(ticks) == counted
    assert max(abs(gap - each) for gap in gaps) < 0.001
    beats = counted if metre == "4/4" else counted // 2
    strong = [tick["hertz"] > 1300 for tick in ticks]
    assert strong == [n % beats == 0 for n in range(counted)]


async def test_the_choir_is_to_sing_exactly_one_beat_after_the_count_in(open_page, services, room):
    services.lesson.exercise = a_line_of(LINES["4/4"])
    page = await with_ears(open_page, room)
    await press(page, *["+"] * 10, *["PageDown"] * 5)
    await ticks_of(page)
    await page.evaluate(
        """() => new MutationObserver(() => {
          if (document.body.dataset.running === 'pulse') {
            window.sung ??= window.contexts[0].currentTime;
          }
        }).observe(document.body, { attributes: true })"""
    )
    await press(page, "PageDown")
    await until(page, "window.sung !== undefined")
    ticks = await ticks_of(page)
    bpm = int(await page.locator("#bpm").inner_text())
    assert await page.evaluate("window.sung") - ticks[-1]["at"] == pytest.approx(60 / bpm, abs=0.1)


async def test_chanting_has_clicks_to_its_end_and_reading_none_after_the_count_in(
    open_page, services, room
):
    services.lesson.exercise = a_line_of(LINES["4/4"])
    page = await with_ears(open_page, room)
    await press(page, *["PageDown"] * 4)
    assert len(await ticks_of(page)) == 4 + 8
    for stop in ("inward", "first"):
        await press(page, "PageDown")
        assert await stop_of(page) == stop
        assert len(await ticks_of(page)) == 4


async def test_a_sound_begins_within_fifty_milliseconds_of_the_press(open_page, room):
    page = await with_ears(open_page, room)
    await press(page, *["PageDown"] * 4)
    ticks = await ticks_of(page)
    assert 0 < ticks[0]["at"] - ticks[0]["now"] <= 0.0501


async def test_nothing_sounds_before_a_key_is_pressed(open_page, room):
    page = await with_ears(open_page, room)
    await page.wait_for_timeout(700)
    assert await page.evaluate("window.sounds.length + window.ticks.length") == 0
    await press(page, "PageDown")
    await until(page, "window.sounds.length === 1")


async def test_leaving_a_stop_silences_it(open_page, room):
    page = await with_ears(open_page, room)
    await press(page, "PageDown")
    await until(page, "window.sounds.length === 1")
    await press(page, "PageDown", "PageDown")
    assert await stop_of(page) == "look"
    await page.wait_for_timeout(400)
    assert await page.evaluate("document.body.dataset.running") == "nothing"


async def test_a_key_that_comes_too_late_is_not_sounded_into_the_study(open_page, room):
    page = await with_ears(open_page, room)
    await press(page, "PageDown", "PageDown", "PageDown")
    await page.wait_for_timeout(1500)
    late = await page.evaluate("window.sounds.filter(sound => sound.now > 2).length")
    assert late == 0


async def test_the_drone_goes_round_whole_periods_and_follows_the_key(open_page, services, room):
    choir = services.choirs.kept["c1"]
    services.choirs.kept["c1"] = replace(choir, voices=choir.voices[:1])
    page = await with_ears(open_page, room)
    await press(page, "d")
    await until(page, "window.sounds.length === 1")
    first = await page.evaluate("window.sounds[0]")
    assert first["loop"]
    periods = (first["end"] - first["start"]) * 349.228
    assert periods == pytest.approx(round(periods), abs=0.02)

    await press(page, "ArrowDown")
    await until(page, "window.sounds.length === 2")
    periods = (await page.evaluate("window.sounds[1].end - window.sounds[1].start")) * 329.628
    assert periods == pytest.approx(round(periods), abs=0.02)
    await press(page, "d")
    assert await page.locator("#notice").inner_text() == "Do is silent"


async def test_the_line_sounds_at_the_tempo_to_which_it_was_turned(open_page, services, room):
    services.lesson.exercise = a_line_of(LINES["4/4"])
    page = await with_ears(open_page, room)
    await press(page, *["+"] * 15, *["PageDown"] * 6)
    bpm = int(await page.locator("#bpm").inner_text())
    await ended(page)
    before = await page.evaluate("window.sounds.length")
    await press(page, "h")
    await until(page, f"window.sounds.length > {before}")
    seconds = await page.evaluate("window.sounds.at(-1).seconds")
    assert seconds == pytest.approx(8 * 60 / bpm, abs=0.01)
