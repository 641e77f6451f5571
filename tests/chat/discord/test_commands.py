"""Commands: what the table says is what Discord registers; each does its work, privately."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.chat.commands import COMMANDS, DESK, GROUPS, Kind, manual
from tests.chat.discord.stage import ON, a_stage
from tests.standin.person import CommandHidden, finished

_COMMANDS = "/applications/{application_id}/commands"
_TYPES = {Kind.TEXT: 3, Kind.PART: 3, Kind.WAY: 3, Kind.DAY: 3, Kind.ROLE: 8, Kind.NUMBER: 4}


@pytest.fixture
def say(stage):
    return stage.services.content.wording


@pytest.fixture
def director(stage):
    return stage.person("heron", roles=(stage.director_role,))


async def _told(person, stage, line, **options):
    answer = await person.run(stage.channel, line, allowed=True, **options)
    message = await finished(answer)
    assert message.only_for == person.user.id
    return message


async def test_what_is_registered_is_what_the_table_says(stage, surface, say):
    registered = {one["name"]: one for one in stage.discord.world.commands}

    assert set(registered) == {"about", *(group.name for group in GROUPS)}
    for command in COMMANDS:
        found = registered[command.group or command.name]
        if command.group:
            found = next(one for one in found["options"] if one["name"] == command.name)
        assert found["description"] == say(command.describe)
        shown = [
            (one["name"], one["type"], one.get("required", False), one["description"])
            for one in found.get("options", [])
        ]
        assert shown == [
            (one.name, _TYPES[one.kind], one.required, say(one.describe)) for one in command.options
        ]


async def test_commands_are_for_servers_only_and_the_directors_are_hidden_by_default(
    stage, surface
):
    for one in stage.discord.world.commands:
        assert one["contexts"] == [0]
        assert one["integration_types"] == [0]
    lark, head = stage.person("lark"), stage.person("head", manages=True)
    assert [line for line in lark.commands() if line.startswith("/desk")] == []
    assert "/desk link" in head.commands()
    with pytest.raises(CommandHidden):
        await lark.run(stage.channel, "/desk status")


async def test_commands_are_registered_once_and_not_at_every_start(stage):
    async with stage.connected():
        pass
    async with stage.connected():
        pass

    assert len(stage.discord.calls("PUT", _COMMANDS)) == 1


def test_the_manual_lists_every_command(wording):
    text = manual(wording)

    assert all(f"`{command.line}" in text for command in COMMANDS)
    assert len(text.splitlines()) == len(COMMANDS) + 2


def test_the_guide_prints_the_table_as_it_is(wording):
    guide = Path(__file__).parents[3] / "deploy" / "discord.md"

    assert manual(wording) in guide.read_text(encoding="utf-8")


def test_no_command_stands_in_two_places():
    lines = [command.line for command in COMMANDS]

    assert len(lines) == len(set(lines))
    assert {command.group for command in COMMANDS} <= {None, *(group.name for group in GROUPS)}
    assert all(command.who != "anyone" for command in COMMANDS if command.group == DESK.name)


async def test_about_names_the_age_limit_first_and_who_owes_a_privacy_policy(stage, surface, say):
    told = await _told(stage.person("lark"), stage, "/about")

    assert told.embed["description"].startswith(say("discord.age_limit"))
    for key in ("discord.privacy_owed", "discord.keeps"):
        assert say(key) in told.embed["description"]


async def test_today_shows_the_line_that_is_up(stage, surface):
    stage.card()

    told = await _told(stage.person("lark"), stage, "/read today")

    assert told.embed["title"] == "Monday, November 24 · Period 3 Treble"
    assert "line-2025-11-24.png" in told.files
    assert [one["label"] for one in told.buttons][:4] == [
        "Part I", "Part II", "Part III", "I read it: steady",
    ]  # fmt: skip


async def test_before_the_first_line_it_says_so(stage, surface, say):
    told = await _told(stage.person("lark"), stage, "/read today")

    assert told.embed["description"] == say("discord.nothing_up")


@pytest.mark.parametrize("wanted", ["Part II", " part ii ", "2"])
async def test_a_part_is_asked_for_by_label_or_number(stage, surface, wanted):
    stage.card()

    told = await _told(stage.person("lark"), stage, "/read part", part=wanted)

    assert told.embed["title"].startswith("Part II ")


async def test_an_unknown_part_is_answered_with_the_parts_there_are(stage, surface):
    stage.card()

    told = await _told(stage.person("lark"), stage, "/read part", part="Descant")

    assert "Part I, Part II, Part III" in told.embed["description"]


async def test_parts_are_offered_while_one_is_typed(stage, surface):
    stage.card()
    lark = stage.person("lark")

    everything = await lark.complete(stage.channel, "/read part", "part", "")
    fitting = await lark.complete(stage.channel, "/read part", "part", "iii")

    assert everything == ["Part I", "Part II", "Part III"]
    assert fitting == ["Part III"]


async def test_the_key_comes_without_the_line(stage, surface):
    stage.card()

    told = await _told(stage.person("lark"), stage, "/read key")

    assert told.embed["description"] == "The key is F major."
    assert all(name.endswith(".mp3") for name in told.files)
    assert len(told.files) == 4


async def test_the_director_previews_and_redraws_a_coming_day(stage, surface, director):
    preview = await _told(director, stage, "/desk preview")
    other = await _told(director, stage, "/desk redraw", day="2025-11-26")

    assert preview.embed["title"].startswith("Monday, November 24")
    assert preview.buttons == []
    assert other.embed["title"].startswith("Wednesday, November 26")
    assert ("redraw", "c1", ON.replace(day=26)) in stage.readings.asked


async def test_coming_days_are_offered_to_the_director_alone(stage, surface, director):
    stage.card()
    lark = stage.person("lark")

    offered = await director.complete(stage.channel, "/desk redraw", "day", "", allowed=True)
    kept_back = await lark.complete(stage.channel, "/desk redraw", "day", "", allowed=True)

    assert offered[0] == "2025-11-25"
    assert len(offered) == 4
    assert kept_back == []


async def test_a_day_that_is_no_date_is_named(stage, surface, director):
    told = await _told(director, stage, "/desk preview", day="next week")

    assert told.embed["description"].startswith("next week is no date.")


async def test_the_director_posts_at_once(stage, surface, director, say):
    told = await _told(director, stage, "/desk post")

    assert ("post", "c1") in stage.readings.asked
    assert told.embed["description"] == say("discord.posted")


async def test_the_status_names_last_and_next_and_what_needs_a_look(stage, surface, director):
    stage.services.status.unsure = (ON,)

    told = await _told(director, stage, "/desk status")

    lines = told.embed["description"].splitlines()
    assert lines[:2] == ["Last line: Monday, November 24.", "Next line: Tuesday, November 25."]
    assert "not certain" in lines[2]


@pytest.mark.parametrize("line", ["/desk preview", "/desk redraw", "/desk post", "/desk status"])
async def test_the_bot_itself_checks_the_directors_role(stage, surface, say, line):
    manager = stage.person("head", manages=True)

    told = await _told(manager, stage, line)

    assert told.embed["description"] == say("discord.not_director")
    assert stage.readings.asked == []


async def test_a_channel_without_a_choir_says_what_to_do(tmp_path):
    async with a_stage(tmp_path, linked=False) as stage:
        await stage.links.new_code(stage.choir.id)
        async with stage.connected():
            told = await _told(stage.person("lark"), stage, "/read today")

    assert "/desk link" in told.embed["description"]
