"""Mystery tunes over the real store: which comes, among which names, told once, put aside."""

from dataclasses import replace
from datetime import timedelta
from html import unescape

import pytest

from bot.activities.choir import Hearing, Steps
from bot.chat.room.assets import load_assets
from bot.chat.room.home_page import home_page
from bot.chat.room.pack import tune_of
from bot.chat.room.pages import load_pages
from bot.cli import main
from bot.errors import Refused
from bot.music.needs import needs
from bot.service import tune_book
from bot.service.mystery import NAMES, Mysteries
from bot.service.tune_book import called, placed_tunes
from bot.store.openings import line_is_open
from bot.store.readings import find_reading
from tests.chat.lesson_house import a_line_of
from tests.fakes.choirs import BARITONE, CHANGING, TREBLE, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, content, open_world

LATE = Steps(pitch="p14", rhythm="r11")
VOICES = (TREBLE, CHANGING, BARITONE)
STEPS_FIRST = content().sequences["steps-first"]


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        await opened.services.choirs.add(a_choir(voices=VOICES, steps=LATE))
        yield opened


@pytest.fixture
def mysteries(world) -> Mysteries:
    return world.services.play.mysteries


def test_most_tunes_lie_within_the_steps_and_come_in_their_order():
    placed = placed_tunes(content(), STEPS_FIRST)
    assert len(placed) >= 40
    assert sum(not each.beyond for each in placed) >= 40
    order = [step.id for step in STEPS_FIRST.steps]
    inside = [(each.pitch.id, each.rhythm.id) for each in placed if not each.beyond]
    assert inside == sorted(inside, key=lambda ids: [order.index(id_) for id_ in ids])


@pytest.mark.parametrize(
    ("needed", "at", "known"),
    [("r21", "r13", True), ("r13", "r21", False), ("r21", "r12", False), ("r11", "r21", True)],
)
def test_a_choir_knows_the_rhythms_that_come_before_its_own_whatever_their_numbers(
    monkeypatch, needed, at, known
):
    asked = replace(needs(a_line_of((((0, "1/1"),),)), STEPS_FIRST), rhythm=needed)
    monkeypatch.setattr(tune_book, "needs", lambda *_: asked)
    monkeypatch.setattr(tune_book, "_placed", {})
    tune = placed_tunes(content(), STEPS_FIRST)[0]
    assert tune.within(Steps(pitch="p19", rhythm=at)) is known


async def test_a_tune_within_the_choirs_steps_comes_in_a_key_for_every_voice(world, mysteries):
    for _ in range(5):
        id_ = await mysteries.begin("choir-1")
        async with world.database.snapshot() as read:
            reading = await find_reading(read, id_)
        found = await mysteries.find("choir-1", id_)
        tune = await mysteries.tell("choir-1", id_)
        placed = {state.placed.tune.id: state.placed for state in await mysteries.tunes()}
        assert placed[tune.id].within(LATE)
        assert reading.exercise.parts[0].notes == tune.exercise.parts[0].notes
        for part, voice in zip(reading.parts, VOICES, strict=True):
            sung = reading.exercise.in_key(reading.exercise.key, (part.do_octave,))
            assert all(voice.range.holds(pitch) for pitch in sung.pitches())
        assert found.names.count(called(tune)) == 1
        assert len(set(found.names)) == NAMES


async def test_no_tune_comes_again_before_all_the_others_came(mysteries):
    seen = []
    for _ in range(6):
        id_ = await mysteries.begin("choir-1")
        seen.append((await mysteries.tell("choir-1", id_)).id)
    assert len(set(seen)) == 6


async def test_the_name_is_told_only_when_it_is_told(world, mysteries):
    id_ = await mysteries.begin("choir-1")
    before = await mysteries.find("choir-1", id_)
    assert before.told is None
    assert before.card.own_music_title is None
    async with world.database.snapshot() as read:
        assert not await line_is_open(read, id_)

    tune = await mysteries.tell("choir-1", id_)

    assert (await mysteries.latest("choir-1")).told == tune
    async with world.database.snapshot() as read:
        assert await line_is_open(read, id_)


async def test_a_choir_that_hears_no_lines_is_told_without_sound(world, mysteries):
    choir = await world.services.choirs.get("choir-1")
    await world.services.choirs.change(replace(choir, hearing=Hearing.NEVER))
    id_ = await mysteries.begin("choir-1")
    await mysteries.tell("choir-1", id_)
    async with world.database.snapshot() as read:
        assert not await line_is_open(read, id_)


async def test_a_guess_is_right_or_not_and_leaves_nothing(world, mysteries):
    id_ = await mysteries.begin("choir-1")
    names = (await mysteries.find("choir-1", id_)).names
    right = [name for name in names if await mysteries.guess("choir-1", id_, name)]
    assert len(right) == 1
    assert (await mysteries.find("choir-1", id_)).told is None


async def test_a_tune_that_is_off_never_comes_and_is_no_name(mysteries):
    kept = [state for state in await mysteries.tunes() if state.placed.within(LATE)][:NAMES]
    keep = {state.placed.tune.id for state in kept}
    for state in await mysteries.tunes():
        if state.placed.tune.id not in keep:
            await mysteries.switch(state.placed.tune.id, on=False)
    id_ = await mysteries.begin("choir-1")
    found = await mysteries.find("choir-1", id_)
    assert set(found.names) == {called(state.placed.tune) for state in kept}


async def test_a_choir_whose_steps_hold_no_tune_is_told_so(world, mysteries):
    await world.services.choirs.add(a_choir("choir-2", steps=Steps()))
    with pytest.raises(Refused, match=r"tune\.none"):
        await mysteries.begin("choir-2")
    assert await mysteries.latest("choir-2") is None


async def test_another_choirs_tune_and_an_unknown_one_are_not_there(world, mysteries):
    await world.services.choirs.add(a_choir("choir-2", steps=LATE))
    id_ = await mysteries.begin("choir-1")
    with pytest.raises(Refused, match=r"reading\.unknown"):
        await mysteries.tell("choir-2", id_)
    with pytest.raises(Refused, match=r"tune\.unknown"):
        await mysteries.switch("nothing", on=False)


async def test_a_tune_that_left_the_collection_is_not_before_the_class_any_more(
    world, mysteries, monkeypatch
):
    tune = await mysteries.tell("choir-1", await mysteries.begin("choir-1"))
    left = tuple(state for state in await mysteries.tunes() if state.placed.tune != tune)

    async def tunes(sequence="steps-first"):
        return left

    monkeypatch.setattr(mysteries, "tunes", tunes)
    assert await mysteries.latest("choir-1") is None
    assert await mysteries.begin("choir-1")


async def test_the_list_has_a_line_a_tune_with_step_title_origin_and_state(
    tmp_path, capsys, monkeypatch
):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        await opened.services.play.mysteries.switch("st-anne", on=False)
        assert main(["tunes", "--data", str(tmp_path)]) == 0  # while the room runs
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == len(placed_tunes(content(), content().sequences["steps-first"]))
    assert "p05,r09  Ode to Joy, Germany, 1800s: on" in lines
    assert [line.endswith(": off") for line in lines].count(True) == 1
    assert any("(devotional)" in line for line in lines)


def test_the_list_of_a_folder_without_data_has_all_tunes_on(tmp_path, capsys):
    assert main(["tunes", "--data", str(tmp_path / "none")]) == 0
    assert ": off" not in capsys.readouterr().out
    assert not (tmp_path / "none").exists()


async def test_the_weeks_tune_goes_home_and_its_answer_once_it_was_told(world, mysteries):
    at_home = world.services.play.tunes_at_home
    monday, sunday = NINE.date(), NINE.date() + timedelta(days=6)
    assert await at_home.tune("choir-1", monday, sunday) is None
    id_ = await mysteries.begin("choir-1")
    sheet = await at_home.tune("choir-1", monday, sunday)
    assert (sheet.title, sheet.told) == (None, ())
    assert len(sheet.sheet.parts) == 3
    assert all(part.together.line_sound is None for part in sheet.sheet.parts)
    await mysteries.tell("choir-1", id_)
    sheet = await at_home.tune("choir-1", monday, sunday)
    assert sheet.sheet.parts[0].together.line_sound
    assert sum(name.startswith(sheet.title) for name in sheet.names) == 1
    assert sheet.told
    assert await at_home.tune("choir-1", sunday, sunday) is None


async def test_the_page_to_take_home_has_the_tune_and_its_name_behind_a_press(world, mysteries):
    await mysteries.tell("choir-1", await mysteries.begin("choir-1"))
    home = await world.services.papers.home.day("choir-1", NINE.date())
    assets = load_assets()
    pages = load_pages(content().wording, assets, demo=False)
    tune = await tune_of(world.services, home)
    page = home_page(home, pages, assets, tune).decode()
    _, _, behind = page.partition("The answer, when you have named it")
    assert f"That is it: {unescape(tune.title)}" in unescape(behind)
    assert "That is it" not in page.removesuffix(behind)
    assert "http" not in page.replace("http://www.w3.org", "").replace("http-equiv", "")
