"""Interactions: from the press to the last edit of its answer, with their deadlines.

The first answer is due within 3 s, the token lives 15 min, there is one first answer only, and
whether an answer is ephemeral is fixed by the first one.
"""

from __future__ import annotations

import asyncio
import secrets
from dataclasses import dataclass, field

from tests.standin import messages, shapes
from tests.standin.messages import ApiError, Upload
from tests.standin.world import Json, Message, User, World

FIRST_ANSWER_S = 3.0
TOKEN_S = 15 * 60.0
_MESSAGE, _DEFERRED, _DEFERRED_UPDATE, _UPDATE, _CHOICES, _MODAL = 4, 5, 6, 7, 8, 9


@dataclass(kw_only=True)
class Interaction:
    """One press, command or form, and what the bot made of it."""

    id: str
    token: str
    kind: int
    user: User
    channel_id: str
    at: float
    source: Message | None = None
    answered_after: float | None = None
    callback: int | None = None
    only_for: str | None = None
    original: Message | None = None
    modal: Json | None = None
    choices: list[Json] = field(default_factory=list)
    follow_ups: list[Message] = field(default_factory=list)
    answered: asyncio.Event = field(default_factory=asyncio.Event)
    complete: asyncio.Event = field(default_factory=asyncio.Event)

    @property
    def deferred(self) -> bool:
        """Whether the answer was put off and nothing stands in its place yet."""
        return self.callback == _DEFERRED and self.original is None


class Interactions:
    """All interactions by token."""

    def __init__(self, world: World) -> None:
        self._world = world
        self.by_token: dict[str, Interaction] = {}

    def open(self, kind: int, user: User, channel_id: str, source: Message | None) -> Interaction:
        """A new interaction, about to be sent to the bot."""
        made = Interaction(
            id=self._world.new_id(),
            token=secrets.token_urlsafe(48),
            kind=kind,
            user=user,
            channel_id=channel_id,
            at=self._world.clock.now(),
            source=source,
        )
        self.by_token[made.token] = made
        return made

    def payload(self, one: Interaction, data: Json) -> Json:
        """INTERACTION_CREATE as Discord sends it for a press in a server."""
        world = self._world
        channel = world.channels[one.channel_id]
        guild = world.guilds[channel.guild_id]
        shown: Json = {
            "id": one.id,
            "application_id": world.application_id,
            "type": one.kind,
            "data": data,
            "guild_id": guild.id,
            "guild": {"id": guild.id, "locale": "en-US", "features": []},
            "channel_id": one.channel_id,
            "channel": shapes.channel(world, channel),
            "member": shapes.member(one.user),
            "token": one.token,
            "version": 1,
            "app_permissions": str(world.bot_permissions(channel)),
            "locale": "en-US",
            "guild_locale": "en-US",
            "entitlements": [],
            "authorizing_integration_owners": {"0": guild.id},
            "context": 0,
            "attachment_size_limit": messages.FILE_BYTES,
        }
        if one.source is not None:
            shown["message"] = shapes.message(world, one.source)
        return shown

    def answer(self, interaction_id: str, token: str, upload: Upload) -> Interaction:
        """The first answer (a callback)."""
        one = self.by_token.get(token)
        now = self._world.clock.now()
        if one is None or one.id != interaction_id:
            raise ApiError(404, 10062, "Unknown interaction")
        if one.callback is not None:
            raise ApiError(400, 40060, "Interaction has already been acknowledged.")
        if now - one.at > FIRST_ANSWER_S:
            raise ApiError(404, 10062, "Unknown interaction")
        kind, data = upload.body["type"], upload.body.get("data") or {}
        inner = Upload(body=data, files=upload.files, multipart=upload.multipart)
        if kind in (_MESSAGE, _DEFERRED) and (data.get("flags") or 0) & messages.EPHEMERAL:
            one.only_for = one.user.id
        match kind:
            case 4:
                one.original, _ = messages.create(
                    self._world, one.channel_id, inner, only_for=one.only_for
                )
            case 7 if one.source is not None:
                one.original = messages.edit(self._world, one.source, inner)
            case 6 if one.source is not None:
                one.original = one.source
            case 8:
                one.choices = data["choices"]
            case 9:
                one.modal = data
            case 5:
                pass
            case _:
                raise ApiError(400, 50035, f"a callback of type {kind} does not fit here")
        one.callback = kind
        one.answered_after = now - one.at
        one.answered.set()
        if kind not in (_DEFERRED, _DEFERRED_UPDATE):
            one.complete.set()
        return one

    def edit_original(self, token: str, upload: Upload) -> Message:
        """PATCH .../messages/@original."""
        one = self._alive(token)
        if one.deferred:
            one.original = self._message(one, upload)
        elif one.original is None:
            raise ApiError(404, 10008, "Unknown Message")
        else:
            messages.edit(self._world, one.original, upload)
        one.complete.set()
        return one.original

    def follow_up(self, token: str, upload: Upload) -> Message:
        """POST to the interaction's webhook; the first one fills a deferred answer's place."""
        one = self._alive(token)
        if one.deferred:
            one.original = self._message(one, upload)
            one.complete.set()
            return one.original
        flags = (upload.body or {}).get("flags") or 0
        hidden = one.user.id if flags & messages.EPHEMERAL else None
        made, _ = messages.create(self._world, one.channel_id, upload, only_for=hidden)
        one.follow_ups.append(made)
        return made

    def find(self, token: str, message_id: str) -> Message:
        """A message of this interaction by its id, or `@original`."""
        one = self._alive(token)
        if message_id == "@original" and one.original is not None:
            return one.original
        for message in one.follow_ups:
            if message.id == message_id:
                return message
        raise ApiError(404, 10008, "Unknown Message")

    def _message(self, one: Interaction, upload: Upload) -> Message:
        made, _ = messages.create(self._world, one.channel_id, upload, only_for=one.only_for)
        return made

    def _alive(self, token: str) -> Interaction:
        one = self.by_token.get(token)
        if one is None or one.callback is None:
            raise ApiError(404, 10015, "Unknown Webhook")
        if self._world.clock.now() - one.at > TOKEN_S:
            raise ApiError(401, 50027, "Invalid Webhook Token")
        return one
