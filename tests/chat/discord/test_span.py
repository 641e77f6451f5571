"""How far the film was held, told on Discord: by the seat's own account, and where it is asked."""

import json

import pytest

from bot.privacy.approval import Activity
from bot.store.readings import add_reading
from tests.chat.discord.seat_link import link, say
from tests.fakes.choirs import a_reading
from tests.music.lines import line
from tests.privacy.sheets import ALL
from tests.service.seated import rows_of
from tests.standin.person import finished

LINE = line(" | ".join(["do:q re:q mi:q re:q"] * 7 + ["do:w"]))


@pytest.fixture
async def lark(stage, surface):
    """A singer whose account is at seat 1; a line with a film is up."""
    await stage.sign(stage.choir, stage.channel, activities=ALL | {Activity.SPAN})
    await stage.seats(2)
    card = stage.card(on=stage.today)
    reading = a_reading(card.reading_id, choir_id=stage.choir.id, on=card.on, exercise=LINE)
    async with stage.database.transaction() as change:
        await add_reading(change, reading)
    person = stage.person("lark")
    await link(stage, person, 1)
    return person


async def _told(person, stage, name="/my span", **options):
    message = await finished(await person.run(stage.channel, name, **options))
    assert message.only_for == person.user.id
    return message.embed["description"]


async def test_a_number_is_kept_changed_shown_among_ones_data_and_left_out(stage, lark):
    assert "This week: 3 beats." in await _told(lark, stage, beats=3)
    assert "you stopped with the page" in await _told(lark, stage, beats=0)
    ((_, _, beats),) = await rows_of(stage.database, "home_spans")
    assert beats == 0
    data = await finished(await lark.run(stage.channel, "/my data"))
    assert [each["beats"] for each in json.loads(data.files["my-data.json"])["spans"]] == [0]
    assert await _told(lark, stage) == say(stage, "span.left_out")
    assert await rows_of(stage.database, "home_spans") == []


async def test_what_the_film_does_not_leave_and_who_has_no_seat_is_told_in_words(stage, lark):
    for wrong in (99, -1):
        assert "beats were left to sing" in await _told(lark, stage, beats=wrong)
    wren = stage.person("wren")
    assert await _told(wren, stage, beats=2) == say(stage, "link.none")
    assert await rows_of(stage.database, "home_spans") == []


async def test_the_film_asks_for_it_only_where_the_school_approved(stage, lark):
    asked = say(stage, "span.on_discord")
    assert asked in await _told(lark, stage, "/read film")
    await stage.sign(stage.choir, stage.channel, activities=ALL)
    assert asked not in await _told(lark, stage, "/read film")
    assert await _told(lark, stage, beats=2) == say(stage, "span.not_asked")
    assert await rows_of(stage.database, "home_spans") == []
