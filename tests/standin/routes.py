"""The REST routes that the bot uses, by the path templates of the OpenAPI description."""

from __future__ import annotations

import base64
import re
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any

from tests.standin import messages, shapes
from tests.standin.gateway import GUILD_MESSAGES, GUILDS, Gateway
from tests.standin.interactions import Interactions
from tests.standin.messages import ApiError, Upload
from tests.standin.world import (
    ATTACH_FILES,
    EMBED_LINKS,
    READ_MESSAGE_HISTORY,
    SEND_MESSAGES,
    VIEW_CHANNEL,
    Channel,
    Message,
    World,
)

_EMOJI_BYTES = 256 * 1024


@dataclass(kw_only=True)
class Call:
    """One request as a route sees it."""

    path: dict[str, str]
    query: dict[str, str]
    upload: Upload


Answer = tuple[int, Any]
Route = Callable[[Call], Awaitable[Answer]]


class Routes:
    """What each route does to the world. `find` gives template, path values and handler."""

    def __init__(self, world: World, gateway: Gateway, interactions: Interactions) -> None:
        self._world = world
        self._gateway = gateway
        self._interactions = interactions
        channel, app = "/channels/{channel_id}", "/applications/{application_id}"
        hook = "/webhooks/{webhook_id}/{webhook_token}"
        self._table: list[tuple[str, str, Route]] = [
            ("GET", "/gateway/bot", self._gateway_bot),
            ("GET", "/users/@me", self._me),
            ("GET", "/oauth2/applications/@me", self._application),
            ("GET", "/applications/@me", self._application),
            ("DELETE", "/users/@me/guilds/{guild_id}", self._leave),
            ("GET", f"{app}/commands", self._commands),
            ("PUT", f"{app}/commands", self._set_commands),
            ("GET", f"{app}/emojis", self._emojis),
            ("POST", f"{app}/emojis", self._add_emoji),
            ("GET", channel, self._channel),
            ("GET", f"{channel}/messages", self._history),
            ("POST", f"{channel}/messages", self._send),
            ("GET", f"{channel}/messages/{{message_id}}", self._message),
            ("PATCH", f"{channel}/messages/{{message_id}}", self._edit),
            ("DELETE", f"{channel}/messages/{{message_id}}", self._delete),
            ("POST", "/interactions/{interaction_id}/{interaction_token}/callback", self._callback),
            ("POST", hook, self._follow_up),
            ("GET", f"{hook}/messages/@original", self._hook_message),
            ("PATCH", f"{hook}/messages/@original", self._edit_original),
            ("PATCH", f"{hook}/messages/{{message_id}}", self._edit_hook_message),
            ("DELETE", f"{hook}/messages/@original", self._delete_hook_message),
        ]
        self._patterns = [
            (method, template, re.compile(re.sub(r"\{(\w+)\}", r"(?P<\1>[^/]+)", template)), route)
            for method, template, route in self._table
        ]

    def find(self, method: str, path: str) -> tuple[str, dict[str, str], Route] | None:
        """The route for a request, or None where the stand-in does not play it."""
        for wanted, template, pattern, route in self._patterns:
            match = pattern.fullmatch(path)
            if wanted == method and match is not None:
                return template, match.groupdict(), route
        return None

    async def _gateway_bot(self, call: Call) -> Answer:
        limit = {"total": 1000, "remaining": 1000, "reset_after": 0, "max_concurrency": 1}
        return 200, {"url": self._gateway.address, "session_start_limit": limit, "shards": 1}

    async def _me(self, call: Call) -> Answer:
        return 200, shapes.own_user(self._world)

    async def _application(self, call: Call) -> Answer:
        return 200, shapes.application(self._world)

    async def _leave(self, call: Call) -> Answer:
        guild_id = call.path["guild_id"]
        if self._world.guilds.pop(guild_id, None) is None:
            raise ApiError(404, 10004, "Unknown Guild")
        self._world.left.append(guild_id)
        await self._gateway.leave(guild_id)
        return 204, None

    async def _commands(self, call: Call) -> Answer:
        return 200, self._world.commands

    async def _set_commands(self, call: Call) -> Answer:
        world = self._world
        names = [(one.get("type", 1), one["name"]) for one in call.upload.body]
        if len(names) != len(set(names)):
            raise ApiError(400, 50035, "APPLICATION_COMMANDS_DUPLICATE_NAME")
        world.commands = [
            {name: value for name, value in one.items() if value is not None}
            | {
                "id": world.new_id(),
                "application_id": world.application_id,
                "version": world.new_id(),
                "type": one.get("type", 1),
                "description": one.get("description", ""),
                "default_member_permissions": _text(one.get("default_member_permissions")),
                "nsfw": False,
            }
            for one in call.upload.body
        ]
        return 200, world.commands

    async def _emojis(self, call: Call) -> Answer:
        return 200, {"items": list(self._world.emojis.values())}

    async def _add_emoji(self, call: Call) -> Answer:
        body = call.upload.body
        data = base64.b64decode(body["image"].partition("base64,")[2])
        if len(data) > _EMOJI_BYTES or not re.fullmatch(r"\w{2,32}", body["name"], re.ASCII):
            raise ApiError(400, 50035, "an emoji has at most 256 KiB and a name of 2 to 32 letters")
        emoji = {
            "id": self._world.new_id(),
            "name": body["name"],
            "roles": [],
            "require_colons": True,
            "managed": False,
            "animated": False,
            "available": True,
            "user": shapes.bot_user(self._world),
        }
        self._world.emojis[emoji["id"]] = emoji
        return 201, emoji

    async def _channel(self, call: Call) -> Answer:
        return 200, shapes.channel(self._world, self._place(call, VIEW_CHANNEL))

    async def _history(self, call: Call) -> Answer:
        place = self._place(call, VIEW_CHANNEL)
        if not self._world.bot_permissions(place) & READ_MESSAGE_HISTORY:
            return 200, []
        before = int(call.query.get("before", 1 << 63))
        after = int(call.query.get("after", 0))
        limit = int(call.query.get("limit", 50))
        found = [
            one for one in self._world.public_messages(place.id) if after < int(one.id) < before
        ]
        newest = found[:limit] if "after" in call.query else found[-limit:]
        return 200, [shapes.message(self._world, one) for one in reversed(newest)]

    async def _send(self, call: Call) -> Answer:
        place = self._place(call, VIEW_CHANNEL)
        body = call.upload.body or {}
        needed = SEND_MESSAGES
        needed |= ATTACH_FILES if call.upload.files else 0
        needed |= EMBED_LINKS if body.get("embeds") else 0
        if needed & ~self._world.bot_permissions(place):
            raise ApiError(403, 50013, "Missing Permissions")
        made, new = messages.create(self._world, place.id, call.upload)
        shown = shapes.message(self._world, made, with_nonce=True)
        if new:
            await self._gateway.event("MESSAGE_CREATE", shown, GUILD_MESSAGES)
        return 200, shown

    async def _message(self, call: Call) -> Answer:
        self._place(call, VIEW_CHANNEL | READ_MESSAGE_HISTORY)
        return 200, shapes.message(self._world, self._one(call))

    async def _edit(self, call: Call) -> Answer:
        self._place(call, VIEW_CHANNEL)
        return 200, shapes.message(
            self._world, messages.edit(self._world, self._one(call), call.upload)
        )

    async def _delete(self, call: Call) -> Answer:
        self._place(call, VIEW_CHANNEL)
        self._one(call).deleted = True
        return 204, None

    async def _callback(self, call: Call) -> Answer:
        one = self._interactions.answer(
            call.path["interaction_id"], call.path["interaction_token"], call.upload
        )
        if call.query.get("with_response", "false").lower() not in ("true", "1"):
            return 204, None
        shown: dict[str, Any] = {"interaction": {"id": one.id, "type": one.kind}}
        if one.callback in (4, 7) and one.original is not None:
            message = shapes.message(self._world, one.original)
            shown["resource"] = {"type": one.callback, "message": message}
            shown["interaction"]["response_message_id"] = one.original.id
        elif one.callback == 5:
            # A message that says "thinking" already has an id of its own.
            shown["interaction"]["response_message_id"] = self._world.new_id()
            shown["interaction"]["response_message_loading"] = True
        return 200, shown

    async def _follow_up(self, call: Call) -> Answer:
        made = self._interactions.follow_up(call.path["webhook_token"], call.upload)
        if call.query.get("wait", "0").lower() in ("1", "true"):
            return 200, shapes.message(self._world, made)
        return 204, None

    async def _hook_message(self, call: Call) -> Answer:
        token = call.path["webhook_token"]
        name = call.path.get("message_id", "@original")
        return 200, shapes.message(self._world, self._interactions.find(token, name))

    async def _edit_original(self, call: Call) -> Answer:
        made = self._interactions.edit_original(call.path["webhook_token"], call.upload)
        return 200, shapes.message(self._world, made)

    async def _edit_hook_message(self, call: Call) -> Answer:
        found = self._interactions.find(call.path["webhook_token"], call.path["message_id"])
        return 200, shapes.message(self._world, messages.edit(self._world, found, call.upload))

    async def _delete_hook_message(self, call: Call) -> Answer:
        self._interactions.find(call.path["webhook_token"], "@original").deleted = True
        return 204, None

    def _place(self, call: Call, needed: int) -> Channel:
        place = self._world.channels.get(call.path["channel_id"])
        if place is None or place.guild_id not in self._world.guilds:
            raise ApiError(404, 10003, "Unknown Channel")
        missing = needed & ~self._world.bot_permissions(place)
        if missing & VIEW_CHANNEL:
            raise ApiError(403, 50001, "Missing Access")
        if missing:
            raise ApiError(403, 50013, "Missing Permissions")
        return place

    def _one(self, call: Call) -> Message:
        one = self._world.messages.get(call.path["message_id"])
        hidden = one is None or one.deleted or one.only_for is not None
        if hidden or one.channel_id != call.path["channel_id"]:
            raise ApiError(404, 10008, "Unknown Message")
        if one.author_id != self._world.bot_id:
            raise ApiError(403, 50005, "Cannot edit a message authored by another user")
        return one


def _text(value: Any) -> str | None:
    return None if value is None else str(value)


__all__ = ["GUILDS", "Call", "Routes"]
