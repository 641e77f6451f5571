"""Nothing goes up on Discord, and nothing is shown there, without the school's word for it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from bot.errors import Refused
from tests.chat.discord.stage import a_stage
from tests.standin.person import finished

_NOON = datetime(2026, 9, 14, 17, 0, tzinfo=UTC)


@pytest.fixture
async def standing(tmp_path):
    """A stage whose clock stands; linked, and not signed for."""
    async with a_stage(tmp_path, linked=False, now=_NOON) as stage:
        await stage.link(signed=False)
        yield stage


async def test_a_linked_choir_is_not_carried_before_the_school_has_signed(standing):
    async with standing.connected() as surface:
        assert await surface.carried_since(standing.choir.id) is None
        with pytest.raises(Refused, match="not_open"):
            await surface.post(standing.card(), "nonce")
    assert standing.discord.world.messages == {}


async def test_it_is_carried_from_the_later_of_link_and_sheet(standing):
    await standing.sign(standing.choir, standing.channel)
    valid_from = standing.today - timedelta(days=30)
    async with standing.connected() as surface:
        assert await surface.carried_since(standing.choir.id) == valid_from
        async with standing.database.transaction() as change:
            linked = (standing.today - timedelta(days=2)).isoformat()
            await change.update("discord_links", {"linked_on": linked}, {"choir_id": "c1"})
        assert await surface.carried_since(standing.choir.id) == standing.today - timedelta(days=2)


@pytest.mark.parametrize(
    "changes",
    [
        {"guild_id": "1"},
        {"channel_ids": ["1", "2"]},
    ],
)
async def test_a_sheet_for_another_place_opens_nothing_here(standing, changes):
    terms = {
        "guild_id": standing.guild.id,
        "channel_ids": [standing.channel.id],
        "least_age_attested": 13,
        "attested_on": "2026-08-01",
        "privacy_policy_url": "https://school.example/privacy",
    }
    await standing.sign(standing.choir, standing.channel, discord={**terms, **changes})

    async with standing.connected() as surface:
        assert await surface.carried_since(standing.choir.id) is None


async def test_a_sheet_without_discord_opens_the_room_alone(standing):
    await standing.sign(standing.choir, standing.channel, discord=None)

    async with standing.connected() as surface:
        assert await surface.carried_since(standing.choir.id) is None
    assert await standing.seats(1)


async def test_the_same_minute_that_a_sheet_ends_nothing_goes_up_any_more(standing):
    await standing.sign(standing.choir, standing.channel)
    clock = standing.services.clock
    async with standing.connected() as surface:
        ends = standing.today + timedelta(days=101)
        clock._now = datetime(ends.year, ends.month, ends.day, 5, 59, tzinfo=UTC)
        assert await surface.carried_since(standing.choir.id) is not None
        clock._now += timedelta(minutes=1)  # midnight in Chicago, when it is winter there

        assert await surface.carried_since(standing.choir.id) is None
        with pytest.raises(Refused, match="not_open"):
            await surface.post(standing.card(), "nonce")


async def test_a_sheet_that_is_taken_away_while_a_picture_is_made_stops_the_posting(
    standing, monkeypatch
):
    await standing.sign(standing.choir, standing.channel)
    make = standing.readings.media

    async def meanwhile(*wanted):
        if standing.readings.asked == []:
            await standing.end_sheet()
        return await make(*wanted)

    monkeypatch.setattr(standing.readings, "media", meanwhile)
    async with standing.connected() as surface:
        with pytest.raises(Refused, match="not_open"):
            await surface.post(standing.card(), "nonce")
    assert standing.discord.world.messages == {}


async def test_singers_are_told_so_and_shown_nothing(standing):
    standing.card()
    say = standing.services.content.wording
    async with standing.connected():
        lark = standing.person("lark")
        for line, options in (
            ("/read today", {}),
            ("/read key", {}),
            ("/read part", {"part": "1"}),
            ("/read film", {}),
            ("/read way", {"way": "Curtain"}),
            ("/read tune", {}),
            ("/my row", {}),
        ):
            told = await finished(await lark.run(standing.channel, line, **options))
            assert told.embed["description"] == say("discord.not_open")
            assert (told.files, told.buttons) == ({}, [])
        about = await finished(await lark.run(standing.channel, "/about"))

    assert say("discord.age_limit") in about.embed["description"]


async def test_the_director_posts_in_the_room_and_is_told_that_nothing_goes_up_here(standing):
    say = standing.services.content.wording
    heron = standing.person("heron", roles=(standing.director_role,))
    async with standing.connected():
        told = await finished(await heron.run(standing.channel, "/desk post", allowed=True))
        status = await finished(await heron.run(standing.channel, "/desk status", allowed=True))

    assert ("post", "c1") in standing.readings.asked
    assert told.embed["description"] == say("discord.posted_elsewhere")
    assert say("discord.not_open") in status.embed["description"]


async def test_the_plan_lists_the_coming_days_to_the_director_alone(standing):
    heron = standing.person("heron", roles=(standing.director_role,))
    lark = standing.person("lark")
    async with standing.connected():
        told = await finished(await heron.run(standing.channel, "/desk plan", allowed=True))
        kept_back = await finished(await lark.run(standing.channel, "/desk plan", allowed=True))

    assert len(told.embed["description"].splitlines()) == 5
    assert "8 measures in F major" in told.embed["description"]
    said = standing.services.content.wording("discord.not_director")
    assert kept_back.embed["description"] == said
