"""The JSON in which Discord shows what exists (field lists: its OpenAPI description)."""

from __future__ import annotations

from datetime import UTC, datetime

from tests.standin.world import Channel, Guild, Json, Message, User, World


def stamp(seconds: float) -> str:
    """A moment as Discord writes it."""
    return datetime.fromtimestamp(seconds, UTC).isoformat()


def bot_user(world: World) -> Json:
    return {
        "id": world.bot_id,
        "username": "riserbell",
        "global_name": None,
        "discriminator": "0001",
        "avatar": None,
        "bot": True,
        "public_flags": 0,
        "flags": 0,
        "primary_guild": None,
    }


def own_user(world: World) -> Json:
    return bot_user(world) | {"mfa_enabled": False, "locale": "en-US", "verified": True}


def user(person: User) -> Json:
    return {
        "id": person.id,
        "username": person.username,
        "global_name": person.global_name,
        "discriminator": "0",
        "avatar": None,
        "public_flags": 0,
        "flags": 0,
        "primary_guild": None,
    }


def member(person: User) -> Json:
    return {
        "user": user(person),
        "nick": person.nick,
        "roles": list(person.role_ids),
        "permissions": str(person.permissions),
        "joined_at": stamp(0),
        "deaf": False,
        "mute": False,
        "pending": False,
        "flags": 0,
        "avatar": None,
        "banner": None,
        "premium_since": None,
        "communication_disabled_until": None,
    }


def application(world: World) -> Json:
    return {
        "id": world.application_id,
        "name": "Riserbell",
        "icon": None,
        "description": "",
        "type": None,
        "bot_public": False,
        "bot_require_code_grant": False,
        "verify_key": "0" * 64,
        "flags": 0,
        "flags_new": "0",
        "redirect_uris": [],
        "interactions_endpoint_url": None,
        "role_connections_verification_url": None,
        "owner": user(User(id="1", username="owner", global_name="owner", nick="")),
        "approximate_guild_count": len(world.guilds),
        "approximate_user_install_count": 0,
        "approximate_user_authorization_count": 0,
        "explicit_content_filter": 0,
        "team": None,
        "eligible_oauth2_scopes": [],
        "rpc_origins": [],
    }


def channel(world: World, place: Channel) -> Json:
    overwrites = []
    if place.bot_denied:
        role = world.guilds[place.guild_id].bot_role
        overwrites.append({"id": role.id, "type": 0, "allow": "0", "deny": str(place.bot_denied)})
    return {
        "id": place.id,
        "type": 0,
        "guild_id": place.guild_id,
        "name": place.name,
        "position": 0,
        "flags": 0,
        "nsfw": False,
        "topic": None,
        "parent_id": None,
        "last_message_id": None,
        "rate_limit_per_user": 0,
        "permission_overwrites": overwrites,
    }


def guild(world: World, place: Guild) -> Json:
    """A server as GUILD_CREATE carries it to a bot without the members intent."""
    own_member = {
        "user": bot_user(world),
        "roles": [place.bot_role.id],
        "nick": None,
        "joined_at": stamp(0),
        "deaf": False,
        "mute": False,
        "flags": 0,
    }
    roles = [
        {
            "id": role.id,
            "name": role.name,
            "permissions": str(role.permissions),
            "position": position,
            "color": 0,
            "colors": {"primary_color": 0, "secondary_color": None, "tertiary_color": None},
            "hoist": False,
            "managed": False,
            "mentionable": False,
            "flags": 0,
        }
        for position, role in enumerate(place.roles)
    ]
    empty = ("emojis", "stickers", "threads", "presences", "voice_states", "features")
    more = ("stage_instances", "guild_scheduled_events", "soundboard_sounds")
    return {
        "id": place.id,
        "name": place.name,
        "icon": None,
        "owner_id": "1",
        "large": False,
        "unavailable": False,
        "member_count": 2,
        "joined_at": stamp(0),
        "roles": roles,
        "members": [own_member],
        "channels": [channel(world, one) for one in place.channels],
        "verification_level": 0,
        "default_message_notifications": 0,
        "explicit_content_filter": 0,
        "mfa_level": 0,
        "nsfw_level": 0,
        "premium_tier": 0,
        "preferred_locale": "en-US",
        "system_channel_id": None,
        "system_channel_flags": 0,
        "afk_channel_id": None,
        "afk_timeout": 300,
        **{name: [] for name in (*empty, *more)},
    }


def message(world: World, one: Message, *, with_nonce: bool = False) -> Json:
    """A message as an answer or the history shows it.

    The nonce comes back with the answer to the request that made the message; whether the history
    carries it is not documented, so here it does not.
    """
    author = bot_user(world)
    if one.author_id != world.bot_id:
        author = user(world.users[one.author_id])
    shown: Json = {
        "id": one.id,
        "type": 0,
        "channel_id": one.channel_id,
        "author": author,
        "content": one.body.get("content") or "",
        "timestamp": stamp(world.clock.wall() - (world.clock.now() - one.at)),
        "edited_timestamp": stamp(world.clock.wall()) if one.edits else None,
        "tts": False,
        "mention_everyone": False,
        "mentions": [],
        "mention_roles": [],
        "attachments": one.body.get("attachments", []),
        "embeds": one.body.get("embeds", []),
        "components": one.body.get("components", []),
        "pinned": False,
        "flags": 64 if one.only_for else 0,
    }
    if with_nonce and one.nonce is not None:
        shown["nonce"] = one.nonce
    return shown
