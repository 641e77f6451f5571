"""Somebody in a server, played by a test: runs commands, presses buttons, fills in forms.

answer = await singer.press(message, "Read it")
assert answer.message.only_for == singer.user.id
"""

from __future__ import annotations

import asyncio
from typing import Any

from tests.standin.interactions import FIRST_ANSWER_S, Interaction
from tests.standin.messages import EPHEMERAL
from tests.standin.server import Discord
from tests.standin.world import (
    MANAGE_GUILD,
    SEND_MESSAGES,
    VIEW_CHANNEL,
    Channel,
    Guild,
    Json,
    Message,
    Role,
    User,
)

_COMMAND, _COMPONENT, _CHOICES, _FORM = 2, 3, 4, 5
_STRING, _INTEGER, _BOOLEAN, _ROLE, _CHANNEL = 3, 4, 5, 8, 7


class Unanswered(AssertionError):
    """The bot let the deadline pass: the person sees "interaction failed"."""


class CommandHidden(AssertionError):
    """The person is not shown this command."""


class Person:
    """One member of a server. Names are easy to find again where they must not be."""

    def __init__(
        self,
        discord: Discord,
        guild: Guild,
        name: str,
        *,
        roles: tuple[Role, ...] = (),
        manages: bool = False,
    ) -> None:
        self._discord = discord
        self._guild = guild
        world = discord.world
        self.user = User(
            id=world.new_id(),
            username=f"user-{name}",
            global_name=f"Global {name}",
            nick=f"Nick {name}",
            role_ids=[role.id for role in roles],
            permissions=VIEW_CHANNEL | SEND_MESSAGES | (MANAGE_GUILD if manages else 0),
        )
        world.users[self.user.id] = self.user

    def sees(self, channel: Channel) -> list[Message]:
        """What this person sees in a channel."""
        return self._discord.world.visible_to(self.user.id, channel.id)

    def commands(self) -> list[str]:
        """The commands that this person is shown, as `/group name`."""
        return sorted(
            " ".join(("/" + top["name"], *([sub["name"]] if sub else [])))
            for top in self._discord.world.commands
            if self._allowed(top)
            for sub in ([one for one in top.get("options", []) if one["type"] == 1] or [None])
        )

    async def run(
        self, channel: Channel, line: str, *, allowed: bool = False, **options: Any
    ) -> Interaction:
        """Run `/group name` in a channel; `allowed`: the server's settings show it to this person.

        Options are given by name; a Role or Channel is sent as its id.
        """
        top, leaf = self._command(line, allowed=allowed)
        sent, resolved = self._options(leaf, options, channel)
        inner = sent if leaf is top else [{"name": leaf["name"], "type": 1, "options": sent}]
        data: Json = {"id": top["id"], "name": top["name"], "type": 1, "options": inner}
        data["guild_id"] = channel.guild_id
        if resolved:
            data["resolved"] = resolved
        return await self._send(_COMMAND, channel.id, data, None)

    async def complete(
        self, channel: Channel, line: str, option: str, typed: str, *, allowed: bool = False
    ) -> list[str]:
        """What is offered while typing into an option."""
        top, leaf = self._command(line, allowed=allowed)
        focused = {"name": option, "type": _STRING, "value": typed, "focused": True}
        inner = (
            [focused] if leaf is top else [{"name": leaf["name"], "type": 1, "options": [focused]}]
        )
        data = {"id": top["id"], "name": top["name"], "type": 1, "options": inner}
        answer = await self._send(_CHOICES, channel.id, data, None)
        return [choice["name"] for choice in answer.choices]

    async def press(self, message: Message, button: str) -> Interaction:
        """Press a button, named by its label or custom id, on a message this person sees."""
        assert message.only_for in (None, self.user.id), "another person's private answer"
        pressed = message.button(button)
        assert not pressed.get("disabled"), f"{button!r} is switched off"
        data = {"custom_id": pressed["custom_id"], "component_type": 2}
        return await self._send(_COMPONENT, message.channel_id, data, message)

    async def press_id(self, message: Message, custom_id: str) -> Interaction:
        """Press a button that is no longer there: the press crossed an edit, or was forged."""
        data = {"custom_id": custom_id, "component_type": 2}
        return await self._send(_COMPONENT, message.channel_id, data, message)

    async def choose(self, message: Message, custom_id: str, *values: str) -> Interaction:
        """Choose from a menu."""
        menu = message.button(custom_id)
        offered = [option["value"] for option in menu["options"]]
        assert set(values) <= set(offered), f"{values} is not among {offered}"
        data = {"custom_id": custom_id, "component_type": 3, "values": list(values)}
        return await self._send(_COMPONENT, message.channel_id, data, message)

    async def fill_in(self, answer: Interaction, **texts: str) -> Interaction:
        """Submit the form that an answer opened; fields by custom id."""
        assert answer.modal is not None, "no form was opened"
        rows = [
            {"type": 1, "components": [{"type": 4, "custom_id": name, "value": text}]}
            for name, text in texts.items()
        ]
        data = {"custom_id": answer.modal["custom_id"], "components": rows}
        return await self._send(_FORM, answer.channel_id, data, answer.source)

    async def _send(
        self, kind: int, channel_id: str, data: Json, source: Message | None
    ) -> Interaction:
        discord = self._discord
        one = discord.interactions.open(kind, self.user, channel_id, source)
        await discord.gateway.event("INTERACTION_CREATE", discord.interactions.payload(one, data))
        try:
            await asyncio.wait_for(one.answered.wait(), FIRST_ANSWER_S + 0.5)
        except TimeoutError:
            raise Unanswered(f"no answer within {FIRST_ANSWER_S} s to {data}") from None
        return one

    def _allowed(self, command: Json) -> bool:
        wanted = command.get("default_member_permissions")
        return wanted is None or int(wanted) & ~self.user.permissions == 0

    def _command(self, line: str, *, allowed: bool) -> tuple[Json, Json]:
        top_name, _, sub_name = line.removeprefix("/").partition(" ")
        known = {one["name"]: one for one in self._discord.world.commands}
        assert top_name in known, f"/{top_name} is not registered: {sorted(known)}"
        top = known[top_name]
        if not allowed and not self._allowed(top):
            raise CommandHidden(line)
        if not sub_name:
            return top, top
        subs = {one["name"]: one for one in top["options"]}
        return top, subs[sub_name]

    def _options(self, leaf: Json, given: Json, channel: Channel) -> tuple[list[Json], Json]:
        known = {one["name"]: one for one in leaf.get("options", [])}
        assert set(given) <= set(known), f"{set(given) - set(known)} are no options of this command"
        missing = [name for name, one in known.items() if one.get("required") and name not in given]
        assert not missing, f"required: {missing}"
        sent, resolved = [], {}
        for name, value in given.items():
            kind = known[name]["type"]
            if isinstance(value, Role):
                shown = {"id": value.id, "name": value.name, "permissions": "0", "position": 1}
                shown |= {"color": 0, "hoist": False, "managed": False, "mentionable": False}
                resolved.setdefault("roles", {})[value.id] = shown
            if isinstance(value, Role | Channel):
                value = value.id
            choices = [one["value"] for one in known[name].get("choices", [])]
            assert not choices or value in choices, f"{value!r} is not among {choices}"
            sent.append({"name": name, "type": kind, "value": value})
        return sent, resolved


async def finished(answer: Interaction, seconds: float = 5.0) -> Message:
    """Wait until a deferred answer has its final form, and return that message."""
    await asyncio.wait_for(answer.complete.wait(), seconds)
    assert answer.original is not None
    return answer.original


__all__ = ["EPHEMERAL", "CommandHidden", "Person", "Unanswered", "finished"]
