"""Linking a choir with its channel, and keeping out of everything else."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bot.service.discord_links import CODE_LIFE
from tests.chat.discord.stage import WallClock, a_stage
from tests.chat.house import a_choir
from tests.standin.faults import Fault, Kind
from tests.standin.library import until
from tests.standin.person import Person, Unanswered, finished


class _ShiftedClock(WallClock):
    ahead = timedelta(0)

    def now(self):
        return super().now() + self.ahead


@pytest.fixture
async def unlinked(tmp_path):
    async with a_stage(tmp_path, linked=False) as stage:
        stage.links._clock = _ShiftedClock()
        yield stage


async def _link(stage, person, code, role=None, channel=None):
    answer = await person.run(
        channel or stage.channel,
        "/desk link",
        allowed=True,
        code=code,
        role=role or stage.director_role,
    )
    return (await finished(answer)).embed["description"]


def _say(stage, key):
    return stage.services.content.wording(key)


async def test_a_manager_links_the_channel_with_the_desks_code_and_the_line_goes_up(unlinked):
    stage = unlinked
    code = await stage.links.new_code(stage.choir.id)
    async with stage.connected() as surface:
        head = stage.person("head", manages=True)

        said = await _link(stage, head, code.text)
        unsigned = await surface.carried_since(stage.choir.id)
        await stage.sign(stage.choir, stage.channel)
        await surface.post(stage.card(), "nonce")

    assert unsigned is None
    assert "Period 3 Treble" in said
    assert _say(stage, "discord.not_open") in said
    assert _say(stage, "discord.age_limit") in said
    assert len(stage.posted()) == 1
    link = await stage.links.of_choir(stage.choir.id)
    assert (link.guild_id, link.channel_id) == (stage.guild.id, stage.channel.id)
    assert link.director_role_id == stage.director_role.id


async def test_linking_tells_the_service_to_look_again(unlinked):
    stage = unlinked
    listener = stage.changes.listen()
    code = await stage.links.new_code(stage.choir.id)
    async with stage.connected():
        await listener.wait()
        await _link(stage, stage.person("head", manages=True), code.text)

        await listener.wait()


@pytest.mark.parametrize(
    "typed", [str.lower, lambda code: code.replace("-", " "), lambda c: f" {c} "]
)
async def test_a_code_may_be_typed_as_people_type(unlinked, typed):
    stage = unlinked
    code = await stage.links.new_code(stage.choir.id)
    async with stage.connected():
        await _link(stage, stage.person("head", manages=True), typed(code.text))

    assert await stage.links.of_choir(stage.choir.id) is not None


async def test_only_a_manager_links_whatever_the_servers_settings_show(unlinked):
    stage = unlinked
    code = await stage.links.new_code(stage.choir.id)
    async with stage.connected():
        said = await _link(stage, stage.person("lark"), code.text)

    assert said == _say(stage, "discord.not_manager")
    assert await stage.links.all() == ()


async def test_the_role_of_everyone_directs_nothing(unlinked):
    stage = unlinked
    code = await stage.links.new_code(stage.choir.id)
    everyone = stage.guild.roles[0]
    async with stage.connected():
        said = await _link(stage, stage.person("head", manages=True), code.text, role=everyone)

    assert said == _say(stage, "discord.everyone_role")
    assert await stage.links.all() == ()


async def test_a_code_works_once(unlinked):
    stage = unlinked
    code = await stage.links.new_code(stage.choir.id)
    other = stage.discord.world.add_channel(stage.guild, "other")
    async with stage.connected():
        head = stage.person("head", manages=True)
        await _link(stage, head, code.text)

        said = await _link(stage, head, code.text, channel=other)

    assert said == _say(stage, "discord.code_wrong")
    assert (await stage.links.of_choir(stage.choir.id)).channel_id == stage.channel.id


async def test_a_code_lives_a_day(unlinked):
    stage = unlinked
    code = await stage.links.new_code(stage.choir.id)
    await stage.links.new_code((await _another_choir(stage)).id)
    async with stage.connected():
        stage.links._clock.ahead = CODE_LIFE - timedelta(minutes=1)
        await stage.links.drop_old_codes()
        assert (await stage.links.place(stage.guild.id, "")).known

        stage.links._clock.ahead = CODE_LIFE
        await stage.links.drop_old_codes()

    assert not (await stage.links.place(stage.guild.id, "")).known
    assert code.expires_at <= stage.links._clock.now()


async def _another_choir(stage):
    other = a_choir("c2", "Period 5 Bass")
    await stage.add_choir(other)
    return other


async def test_five_wrong_codes_an_hour_are_enough(unlinked):
    stage = unlinked
    code = await stage.links.new_code(stage.choir.id)
    async with stage.connected():
        head = stage.person("head", manages=True)
        said = [await _link(stage, head, f"wrong{n}") for n in range(5)]
        barred = await _link(stage, head, code.text)
        stage.links._clock.ahead = timedelta(hours=1)
        later = await _link(stage, head, code.text)

    assert set(said) == {_say(stage, "discord.code_wrong")}
    assert barred == _say(stage, "discord.code_wait")
    assert "Period 3 Treble" in later


async def test_a_channel_belongs_to_one_choir(unlinked):
    stage = unlinked
    await stage.link()
    code = await stage.links.new_code((await _another_choir(stage)).id)
    async with stage.connected():
        said = await _link(stage, stage.person("head", manages=True), code.text)

    assert said == _say(stage, "discord.channel_taken")
    assert len(await stage.links.all()) == 1


async def test_the_database_holds_no_code_only_its_hash(unlinked, tmp_path):
    code = await unlinked.links.new_code(unlinked.choir.id)

    plain = code.text.replace("-", "").encode()
    files = [file.read_bytes() for file in tmp_path.rglob("*") if file.is_file()]
    assert files and not any(plain in data or code.text.encode() in data for data in files)


async def test_it_leaves_servers_that_are_not_on_the_list(stage):
    stranger = stage.discord.world.add_guild("a stranger's")

    async with stage.connected():
        await until(lambda: stage.discord.world.left == [stranger.id])
        invited = stage.discord.world.add_guild("another stranger's")
        await stage.discord.gateway.join(invited)
        await until(lambda: stage.discord.world.left == [stranger.id, invited.id])

    assert stage.guild.id in stage.discord.world.guilds


async def test_while_a_code_waits_a_new_server_may_be_the_right_one_but_not_for_longer(unlinked):
    stage = unlinked
    await stage.links.new_code(stage.choir.id)
    async with stage.connected() as surface:
        new = stage.discord.world.add_guild("perhaps the school's")
        await stage.discord.gateway.join(new)
        await until(lambda: len(surface._connection.guilds) == 2)
        assert stage.discord.world.left == []

        stage.links._clock.ahead = CODE_LIFE
        await surface._connection.leave_strangers()

    assert sorted(stage.discord.world.left) == sorted([stage.guild.id, new.id])


async def test_in_a_strangers_server_it_says_nothing(unlinked, monkeypatch):
    stage = unlinked
    monkeypatch.setattr("tests.standin.person.FIRST_ANSWER_S", -0.2)
    code = await stage.links.new_code(stage.choir.id)
    stage.discord.faults.add(
        Fault(
            kind=Kind.ERROR_BEFORE,
            method="DELETE",
            template="/users/@me/guilds/{guild_id}",
            times=99,
            value=403,
        )
    )
    async with stage.connected():
        stage.links._clock.ahead = CODE_LIFE
        for line, options in (
            ("/about", {}),
            ("/desk link", {"code": code.text, "role": stage.director_role}),
        ):
            with pytest.raises(Unanswered):
                await stage.person("head", manages=True).run(stage.channel, line, **options)

    assert stage.discord.world.messages == {}


async def test_in_another_channel_of_the_server_only_the_asker_hears_something(stage, surface):
    stage.card()
    other = stage.discord.world.add_channel(stage.guild, "chatter")
    lark = stage.person("lark")

    given = await finished(await lark.run(other, "/read today"))

    assert given.only_for == lark.user.id
    assert given.embed["description"] == _say(stage, "discord.not_linked")


async def test_a_directors_role_of_another_choir_directs_nothing_here(stage, surface):
    other_role = stage.discord.world.add_role(stage.guild, "other directors")
    person = Person(stage.discord, stage.guild, "heron", roles=(other_role,))

    given = await finished(await person.run(stage.channel, "/desk post", allowed=True))

    assert given.embed["description"] == _say(stage, "discord.not_director")
    assert stage.readings.asked == []


async def test_being_removed_from_the_server_ends_the_link_and_an_outage_does_not(stage, surface):
    await stage.discord.gateway.leave(stage.guild.id, outage=True)
    await until(lambda: surface._connection.guilds[0].unavailable)
    assert await stage.links.of_choir(stage.choir.id) is not None

    await stage.discord.gateway.leave(stage.guild.id)
    await until(lambda: not surface._connection.guilds)

    async def unlinked():
        while await stage.links.of_choir(stage.choir.id) is not None:
            pass

    await unlinked()
    assert await surface.carried_since(stage.choir.id) is None


async def test_unlinking_at_the_desk_stops_the_posting(stage, surface):
    await stage.links.unlink(stage.choir.id)

    assert await surface.carried_since(stage.choir.id) is None


async def test_removing_the_choir_removes_its_link_and_code(stage):
    await stage.links.new_code(stage.choir.id)
    async with stage.database.transaction() as change:
        await change.delete("choirs", {"choir_id": stage.choir.id})

    assert await stage.links.all() == ()
    assert not (await stage.links.place(stage.guild.id, stage.channel.id)).known
