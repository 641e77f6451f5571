"""The room's side of Discord: the desk's page, the approval's terms, a seat's code, the policy."""

from __future__ import annotations

import re

import pytest

from bot.chat.room.server import Room, RoomOptions
from bot.service.policy import as_markdown, policy
from bot.store.discord_links import DiscordLink, keep_link
from tests.chat.house import PASSPHRASE
from tests.chat.seated_room import room, singer, sit, slips, visit, world
from tests.fakes.choirs import MONDAY
from tests.service.seated import sign

__all__ = ["room", "singer", "slips", "visit", "world"]

GUILD, CHANNEL = "123456789012345678", "223456789012345678"
TERMS = {
    "guild_id": GUILD,
    "channel_ids": [CHANNEL],
    "least_age_attested": 13,
    "attested_on": "2026-08-30",
    "privacy_policy_url": "https://school.example/privacy",
}
_CODE = re.compile(r"[0-9A-Z]{4}-[0-9A-Z]{4}")


@pytest.fixture
async def met(world, slips):
    """The choir is linked, and a later sheet than the room's signs for that channel."""
    await link(world)
    await sign(world, sheet_id="with-discord", approved_on="2026-08-31", discord=TERMS)
    return world


async def link(world):
    async with world.database.transaction() as change:
        made = DiscordLink(
            choir_id="choir-1", guild_id=GUILD, channel_id=CHANNEL,
            director_role_id="3", linked_on=MONDAY,
        )  # fmt: skip
        await keep_link(change, made)


def _say(world, key, **gaps):
    return world.services.content.wording(key, **gaps)


async def test_the_desk_says_the_age_first_and_gives_a_code_for_the_channel(world, visit, room):
    director = visit(room)

    page = await (await director.get("/desk/choir/choir-1/discord")).text()
    shown = await (await director.post("/desk/choir/choir-1/discord/code")).text()

    assert page.index("Discord is for people aged 13") < page.index("<ol")
    assert not _CODE.search(page)
    (code, again) = _CODE.findall(shown)
    assert code == again
    made = await world.services.discord.link(
        code, guild_id=GUILD, channel_id=CHANNEL, director_role_id="3"
    )
    assert made.choir_id == "choir-1"


async def test_the_desk_says_what_is_still_missing(met, visit, room):
    director = visit(room)
    opened = await (await director.get("/desk/choir/choir-1/discord")).text()
    await met.services.seating.approvals.take_away("with-discord")

    shut = await (await director.get("/desk/choir/choir-1/discord")).text()

    assert CHANNEL in opened and "opens this channel: the line goes up there" in opened
    assert "nothing goes up there and nothing is kept" in shut


async def test_unlinking_asks_once(met, visit, room):
    director = visit(room)

    await director.post("/desk/choir/choir-1/discord/unlink")
    assert await met.services.discord.of_choir("choir-1") is not None
    await director.post("/desk/choir/choir-1/discord/unlink", {"sure": "yes"})

    assert await met.services.discord.of_choir("choir-1") is None


async def test_the_approval_form_is_filled_in_from_the_link_and_signs_for_that_channel(
    world, visit, room
):
    await link(world)
    director = visit(room)
    page = await (await director.get("/desk/approvals/new")).text()
    form = {
        "school": "Lindenfield", "country": "US", "choirs": "choir-1",
        "approver_role": "principal", "consent_basis": "school_official",
        "families_told_on": "2026-09-01", "approved_on": "2026-09-01",
        "valid_from": "2026-09-01", "term_ends_on": "2026-12-01", "expires_on": "2026-12-01",
        "activities": "taps", "transport": "loopback_only", "most_seats": "9",
        "least_in_class": "5", "after_term": "30", "rights_contact": "the office",
        "breach_contact": "the principal", "surfaces": "discord", "guild_id": GUILD,
        "channel_ids": CHANNEL, "least_age_attested": "13", "attested_on": "2026-09-01",
        "privacy_policy_url": "https://school.example/privacy", "disk_encryption_attested": "yes",
    }  # fmt: skip

    faulty = await director.post("/desk/approvals/new", {**form, "least_age_attested": "12"})
    made = await director.post("/desk/approvals/new", form)
    sheet_page = await (await director.get(made.headers["Location"])).text()
    number = re.search(r'class="hash">.*?<strong>([0-9a-f ]+)<', sheet_page)[1]
    await director.post(made.headers["Location"] + "/confirm", {"hash": number})

    assert f'value="{GUILD}"' in page and f'value="{CHANNEL}"' in page
    assert "Discord is for people aged 13" in page
    assert faulty.status == 422
    assert _say(world, "approval.fault.least_age_attested") in await faulty.text()
    assert "at least 13, attested on September 1, 2026" in sheet_page
    opening = await world.services.seating.gate.open_for("choir-1")
    assert opening is not None
    assert not opening.sheet.room


async def test_a_signed_sheet_lets_whoever_posts_look_again(world, visit, room):
    listener = world.assembly.changes.listen()
    listener.hear()
    await link(world)
    director = visit(room)
    sheet_id = await sign(world, sheet_id="late", discord=TERMS)
    page = await (await director.get(f"/desk/approvals/{sheet_id}")).text()
    number = re.search(r'class="hash">.*?<strong>([0-9a-f ]+)<', page)[1]

    await director.post(f"/desk/approvals/{sheet_id}/confirm", {"hash": number})

    await listener.wait()


async def test_the_seats_own_page_shows_a_code_once_and_takes_the_account_off(met, singer, slips):
    await sit(singer, slips[0].code)
    before = await (await singer.get("/seat")).text()
    shown = await (await singer.post("/seat/link")).text()
    (code,) = _CODE.findall(shown)
    links = met.services.seating.links
    seat = await links.take("choir-1", b"t" * 16, code)
    linked = await (await singer.get("/seat")).text()
    await singer.post("/seat/unlink")

    assert not _CODE.search(before)
    assert seat.number == slips[0].number
    assert _say(met, "link.is_linked") in linked
    assert await links.seat_of("choir-1", b"t" * 16) is None


async def test_without_terms_for_discord_a_seat_hears_nothing_of_it(world, singer, slips):
    await sit(singer, slips[0].code)

    page = await (await singer.get("/seat")).text()
    refused = await singer.post("/seat/link")

    assert _say(world, "link.title") not in page
    assert refused.status == 409


async def test_where_singers_cannot_reach_the_room_the_slip_carries_the_code_for_discord(
    met, visit, room
):
    page = await (await visit(room).post("/desk/choir/choir-1/seats/1/slip")).text()
    (code,) = _CODE.findall(page)

    seat = await met.services.seating.links.take("choir-1", b"t" * 16, code)

    assert seat.number == 1
    assert _say(met, "link.slip") in page


async def test_where_they_can_the_slip_is_for_the_room(met, visit):
    await met.services.desk.set_passphrase(PASSPHRASE)
    opened = Room(met.services, RoomOptions(host="0.0.0.0", port=0))  # noqa: S104 - as on a school network
    await opened.start()
    director = visit(opened)
    try:
        await director.sign_in()
        answer = await director.post("/desk/choir/choir-1/seats/1/slip")
        page = await answer.text()
    finally:
        await opened.stop()

    assert answer.status == 200
    assert len(_CODE.findall(page)) == 1
    assert _say(met, "link.slip") not in page


async def test_the_policy_is_printed_from_the_register_with_the_schools_own_words(met, visit, room):
    page = await (await visit(room).get("/notice/discord?choir=choir-1")).text()

    assert "Lindenfield Middle School" in page and "the school office" in page
    assert "seat_links.link_tag" in page and "discord_links.guild_id" in page
    assert "Discord is for people aged 13" in page


def test_the_policy_as_text_has_blanks_for_the_school_and_every_field_about_a_seat(met):
    text = as_markdown(policy(met.services.content.wording))

    assert "# Privacy policy of the bot Riserbell at ____" in text
    assert text.count("\n| `seat_links.") == 2
