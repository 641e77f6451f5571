"""What is not to be known yet stands nowhere: a tune's name and sound, measures that hide."""

import re
from collections import Counter
from dataclasses import replace
from datetime import timedelta
from html import unescape
from urllib.parse import unquote

import pypdfium2
import pytest

from bot.activities.choir import Hearing, Steps
from bot.activities.way import Way
from bot.chat.room.pack import tune_of
from bot.chat.room.server import Room, RoomOptions
from bot.errors import Refused
from bot.media.render import make
from bot.music.exercise import Tone
from bot.service.card import Arrangement, Media
from bot.service.media_requests import media_request
from bot.service.mystery import NAMES, names_with
from bot.service.printed_ways import printed_ways
from bot.service.tune_book import called
from bot.service.turned import hidden_in
from bot.service.turned_media import turned_request
from bot.store.readings import find_reading
from tests.chat.conftest import visit
from tests.chat.test_room_attacks import addresses
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world

__all__ = ["visit"]

LATE = Steps(pitch="p14", rhythm="r11")
SOUNDS = ("line.mp3", "all.mp3")
PICTURES = (Media.PICTURE_SVG, Media.PHONE_PICTURE)


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        # The choir that may hear its lines after a try of one's own: for it every door is open.
        await opened.services.choirs.add(a_choir(steps=LATE, hearing=Hearing.TRY))
        yield opened


@pytest.fixture
async def room(world):
    opened = Room(world.services, RoomOptions(port=0))
    await opened.start()
    # Passers-by only: the desk and the stage are the director's.
    await world.services.desk.set_passphrase("cabbage violet ladder nineteen")
    yield opened
    await opened.stop()


@pytest.fixture
async def tune(world):
    """The reading of a tune that is before the choir, and the tune, which nobody was told."""
    mysteries = world.services.play.mysteries
    reading_id = await mysteries.begin("choir-1")
    found = await mysteries.find("choir-1", reading_id)
    for state in await mysteries.tunes():
        if await mysteries.guess("choir-1", reading_id, called(state.placed.tune)):
            return reading_id, state.placed.tune
    raise AssertionError(found)


def tells(tune) -> list[str]:
    """Whatever gives a tune away."""
    return [tune.title, tune.id, tune.history[:40], *tune.also]


def told_in(text, tune):
    plain = unquote(unescape(text)).casefold()
    return [one for one in tells(tune) if one.casefold() in plain]


def every_address(room, reading_id):
    """Each open address about the reading, with every kind, arrangement and way that there is."""
    found = {path for path in addresses(room, "GET", reading_id) if not path.startswith("/desk")}
    for kind in Media:
        found |= {f"/media/{reading_id}/{way}/0/{kind}" for way in Arrangement}
        found |= {f"/turned/{reading_id}/0/{way}/{kind}" for way in Way}
    found |= {
        f"/reading/{reading_id}",
        f"/reading/{reading_id}/part/1",
        f"/clip/{reading_id}/0.mp4",
    }
    return sorted(found)


async def test_no_address_gives_a_tune_away_before_it_is_told(world, room, visit, tune):
    reading_id, named = tune
    passer_by, answered = visit(room), 0
    world.media.requests.clear()
    for path in every_address(room, reading_id):
        answer = await passer_by.session.get(passer_by.url + path, allow_redirects=False)
        data = (await answer.read()).decode("utf-8", "replace")
        heads = "\n".join(f"{name}: {value}" for name, value in answer.headers.items())
        answered += answer.status == 200
        assert told_in(heads, named) == [], path
        if path == "/choir/choir-1/tune":
            data = re.sub(
                r'<form method="post" action="/choir.*?</form>', "", data, flags=re.DOTALL
            )
        assert told_in(data, named) == [], path
        if path.endswith(SOUNDS):
            assert answer.status in (403, 404), path
    assert answered > 20
    # Nor does anything know it that pictures, sounds and films are made of.
    await world.services.readings.musicxml(reading_id)
    assert len(world.media.requests) > 8
    assert told_in(repr(world.media.requests), named) == []


async def test_its_sound_is_had_once_it_was_told_and_never_where_no_line_is_heard(world, tune):
    reading_id, _ = tune
    services = world.services

    async def hear():
        return await services.readings.media(reading_id, Arrangement.TOGETHER, 0, Media.LINE_SOUND)

    for hearing in Hearing:
        choir = replace(await services.choirs.get("choir-1"), hearing=hearing)
        await services.choirs.change(choir)
        with pytest.raises(Refused, match=r"stage\.closed"):
            await hear()
    await services.choirs.change(replace(choir, hearing=Hearing.TRY))
    await services.play.mysteries.tell("choir-1", reading_id)
    assert await hear()
    await services.choirs.change(replace(choir, hearing=Hearing.NEVER))
    with pytest.raises(Refused, match=r"stage\.closed"):
        await hear()


async def test_the_names_are_alike_but_for_their_words(room, visit, tune):
    _, named = tune
    page = await (await visit(room).get("/choir/choir-1/tune")).text()
    buttons = re.findall(r"<button type=\"submit\" name=\"name\".*?</button>", page)
    assert len(buttons) == NAMES
    assert sum(called(named) in unescape(button) for button in buttons) == 1
    bare = {re.sub(r'value="([^"]*)"(.*?)>\1<', r'value=""\2><', button) for button in buttons}
    assert len(bare) == 1


async def test_the_right_name_comes_in_every_place_as_often_as_in_any(world):
    tunes = [state.placed.tune for state in await world.services.play.mysteries.tunes()]
    places: Counter[int] = Counter()
    for seed in range(400):
        right = tunes[seed % len(tunes)]
        names = names_with(right, [tune for tune in tunes if tune != right], seed)
        places[names.index(called(right))] += 1
    assert min(places[place] for place in range(NAMES)) > 70


@pytest.mark.long
async def test_what_goes_home_has_no_answer_before_it_is_told(world, room, visit, tune):
    reading_id, named = tune
    services, director = world.services, visit(room)
    await director.post("/desk/sign-in", {"passphrase": "cabbage violet ladder nineteen"})
    address = "/desk/choir/choir-1/day/2026-09-14/take-home.html"
    page = await (await director.get(address)).text()
    listed = re.search(r'<ol class="tune-names">.*?</ol>', page)[0]
    assert called(named) in unescape(listed)
    assert told_in(page.replace(listed, ""), named) == []
    assert "your class is told together" in page
    home = await services.papers.home.day("choir-1", NINE.date())
    at_home = await tune_of(services, home)
    assert (at_home.title, at_home.told) == (None, ())
    assert all(part.together.line_sound is None for part in at_home.sheet.parts)
    await services.play.mysteries.tell("choir-1", reading_id)
    assert (await tune_of(services, home)).title == named.title


async def test_the_paper_of_other_ways_has_an_answer_page_once_it_was_told(world, tune):
    reading_id, named = tune
    services = world.services
    home = await services.papers.home.day("choir-1", NINE.date())
    say = services.content.wording
    at_home = await tune_of(services, home)
    drawn = b"<svg xmlns='http://www.w3.org/2000/svg' width='100' height='40'/>".decode()
    parts = tuple(
        replace(part, together=replace(part.together, picture=drawn))
        for part in at_home.sheet.parts
    )
    at_home = replace(at_home, sheet=replace(at_home.sheet, parts=parts))
    bare = replace(home, sheets=())

    def pages(tune_at_home):
        document = pypdfium2.PdfDocument(printed_ways(bare, say, tune_at_home))
        return [page.get_textpage().get_text_range() for page in document]

    before = pages(at_home)
    assert len(before) == 1
    assert named.history[:20] not in before[0]
    after = pages(replace(at_home, title=named.title, told=(named.history,)))
    assert len(after) == 2
    assert named.title in after[1]
    assert reading_id


async def test_a_tune_goes_up_on_no_surface_and_into_no_substitutes_folder(world, tune):
    reading_id, named = tune
    world.clock.set(NINE + timedelta(days=1))
    await world.assembly.scheduler.round()
    assert reading_id not in repr(world.surface.__dict__)
    assert told_in(repr(world.surface.__dict__), named) == []
    folder = await world.services.papers.subs.folder("choir-1")
    assert told_in(repr(folder), named) == []
    card = await world.services.readings.card(reading_id)
    assert told_in(repr(card), named) == []


async def test_the_drawn_page_of_a_tune_has_no_title_and_no_name_of_a_file(world, tune):
    reading_id, named = tune
    async with world.database.snapshot() as read:
        reading = await find_reading(read, reading_id)
    choir = await world.services.choirs.get("choir-1")
    for media in PICTURES:
        svg = make(media_request(reading, choir, Arrangement.TOGETHER, 0, media)).decode()
        assert told_in(svg, named) == []
        assert re.findall(r"<(?:title|desc)[^>]*>([^<]*)", svg) == []


async def a_line(world):
    await world.assembly.scheduler.round()
    (card,) = await world.services.readings.board("choir-1")
    async with world.database.snapshot() as read:
        reading = await find_reading(read, card.reading_id)
    return reading, await world.services.choirs.get("choir-1")


def sung_otherwise(exercise, measures):
    """The same line with other tones in these measures."""
    (part,) = exercise.parts
    notes = tuple(
        replace(note, tone=Tone(step=5 - note.tone.step))
        if note.tone is not None and exercise.place(offset)[0] in measures
        else note
        for offset, note in part.timed()
    )
    return replace(exercise, parts=(replace(part, notes=notes),))


async def test_the_picture_of_hidden_measures_knows_nothing_of_what_they_hide(world):
    reading, choir = await a_line(world)
    hidden = hidden_in(reading)
    other = replace(reading, exercise=sung_otherwise(reading.exercise, hidden))
    assert other.exercise != reading.exercise
    for media in PICTURES:
        page = turned_request(reading, choir, 0, Way.HIDDEN_MEASURES, media)
        assert page == turned_request(other, choir, 0, Way.HIDDEN_MEASURES, media)
        assert page != turned_request(reading, choir, 0, Way.RHYTHM_ONLY, media)
        assert re.findall(r"<(?:title|desc)[^>]*>([^<]*)", make(page).decode()) == []


async def test_no_text_beside_a_page_that_hides_or_answers_tells_its_notes(world, room, visit):
    reading, _ = await a_line(world)
    page = await (await visit(room).get(f"/reading/{reading.id}")).text()
    for way in (Way.HIDDEN_MEASURES, Way.RETROGRADE):
        (figure,) = re.findall(
            rf'<figure class="music"><picture>\s*<source[^>]*/{way}/[^>]*>\s*<img[^>]*>', page
        )
        alt = re.search(r'alt="([^"]*)"', figure)[1]
        assert alt == world.services.content.wording(f"way.name.{way}")
    # The answer lies folded behind a press of its own, and its picture is fetched only then.
    answer = page.index("/retrograde/picture.svg")
    assert page.rindex("<details", 0, answer) > page.rindex("</details>", 0, answer)
    assert 'loading="lazy"' in page[answer : page.index(">", answer)]
