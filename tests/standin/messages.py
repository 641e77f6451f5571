"""Messages made and changed by the bot, under the limits that Discord documents."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from tests.standin.world import Json, Message, World

EPHEMERAL = 1 << 6
COMPONENTS_V2 = 1 << 15
FILE_BYTES = 10 * 1024 * 1024
REQUEST_BYTES = 25 * 1024 * 1024
_SHOWN_IN_EMBED = (".png", ".jpg", ".jpeg", ".webp", ".gif")
_PLAIN_NAME = re.compile(r"[A-Za-z0-9._-]+")
_TYPES = {".png": "image/png", ".mp3": "audio/mpeg", ".txt": "text/plain"}


class ApiError(Exception):
    """An answer that refuses: HTTP status, Discord's code, its message."""

    def __init__(self, status: int, code: int, text: str) -> None:
        self.status, self.code, self.text = status, code, text
        super().__init__(f"{status} {code} {text}")


@dataclass(kw_only=True)
class Upload:
    """What came with one request: its JSON and its files by their place in the form."""

    body: Any = None
    files: dict[int, tuple[str, bytes]] = field(default_factory=dict)
    multipart: bool = False


def check_limits(body: Json, upload: Upload, *, previous: Json | None = None) -> None:
    """Raise ApiError for the first documented limit that a message breaks."""
    if (body.get("flags") or 0) & COMPONENTS_V2:
        raise ApiError(400, 50035, "the stand-in plays classic messages only")
    if len(body.get("content") or "") > 2000:
        raise ApiError(400, 50035, "content: at most 2000 characters")
    _check_files(upload)
    _check_embeds(body.get("embeds") or [])
    _check_components(body.get("components") or [])
    merged = (previous or {}) | body
    shown = [merged.get(name) for name in ("content", "embeds", "components", "attachments")]
    if not any(shown) and not upload.files:
        raise ApiError(400, 50006, "Cannot send an empty message")


def _check_files(upload: Upload) -> None:
    if len(upload.files) > 10:
        raise ApiError(400, 50035, "at most 10 files")
    sizes = [len(data) for _, data in upload.files.values()]
    if any(size > FILE_BYTES for size in sizes) or sum(sizes) > REQUEST_BYTES:
        raise ApiError(413, 40005, "Request entity too large")


def _check_embeds(embeds: list[Json]) -> None:
    texts = 0
    for embed in embeds:
        fields = embed.get("fields") or []
        limits = [
            ("title", embed.get("title"), 256),
            ("description", embed.get("description"), 4096),
            ("footer", (embed.get("footer") or {}).get("text"), 2048),
            ("author", (embed.get("author") or {}).get("name"), 256),
            *(("field name", one.get("name"), 256) for one in fields),
            *(("field value", one.get("value"), 1024) for one in fields),
        ]
        for name, text, limit in limits:
            if len(text or "") > limit:
                raise ApiError(400, 50035, f"embed {name}: at most {limit} characters")
            texts += len(text or "")
        if len(fields) > 25:
            raise ApiError(400, 50035, "embed: at most 25 fields")
    if len(embeds) > 10 or texts > 6000:
        raise ApiError(400, 50035, "at most 10 embeds and 6000 characters in them")


def _check_components(rows: list[Json]) -> None:
    if len(rows) > 5:
        raise ApiError(400, 50035, "at most 5 rows")
    seen: set[str] = set()
    for row in rows:
        buttons = [one for one in row["components"] if one["type"] == 2]
        menus = [one for one in row["components"] if one["type"] != 2]
        if len(buttons) > 5 or len(menus) > 1 or (buttons and menus):
            raise ApiError(400, 50035, "a row holds five buttons, or one menu")
        for one in row["components"]:
            _check_one(one, seen)


def _check_one(one: Json, seen: set[str]) -> None:
    custom_id = one.get("custom_id")
    if one["type"] != 2 or one.get("style") != 5:
        if not custom_id or len(custom_id) > 100:
            raise ApiError(400, 50035, "custom_id: 1 to 100 characters")
        if custom_id in seen:
            raise ApiError(400, 50035, "COMPONENT_CUSTOM_ID_DUPLICATED")
        seen.add(custom_id)
    if len(one.get("label") or "") > 80:
        raise ApiError(400, 50035, "label: at most 80 characters")
    if one["type"] == 3 and not 1 <= len(one.get("options") or []) <= 25:
        raise ApiError(400, 50035, "a menu has 1 to 25 options")


def stored(world: World, body: Json, upload: Upload, kept: list[Json]) -> Json:
    """The message as it is kept.

    Files that an embed shows do not stand among the attachments, and the embed comes back with an
    address on the file server; names outside ASCII letters, digits and `._-` are rewritten.
    """
    described = {str(one["id"]): one for one in body.get("attachments") or []}
    names: dict[str, Json] = {}
    for place, (name, data) in upload.files.items():
        plain = name if _PLAIN_NAME.fullmatch(name) else re.sub(r"[^A-Za-z0-9._-]", "_", name)
        names[plain] = _attachment(world, plain, data, described.get(str(place), {}))
    in_embeds: set[str] = set()
    embeds = []
    for embed in body.get("embeds") or []:
        image = dict(embed.get("image") or {})
        wanted = str(image.get("url", ""))
        if wanted.startswith("attachment://"):
            name = wanted.removeprefix("attachment://")
            if name not in names or not name.lower().endswith(_SHOWN_IN_EMBED):
                raise ApiError(400, 50035, f"embed image: no picture {name} was sent along")
            in_embeds.add(name)
            shown = names[name]
            image = {"url": shown["url"], "proxy_url": shown["proxy_url"]}
            if "description" in shown:
                image["description"] = shown["description"]
        embeds.append(
            {name: value for name, value in embed.items() if name != "image"}
            | ({"image": image} if image else {})
            | {"type": "rich"}
        )
    rows = [_numbered(row, place) for place, row in enumerate(body.get("components") or [])]
    attachments = kept + [one for name, one in names.items() if name not in in_embeds]
    plain = {"content": body.get("content") or "", "embeds": embeds, "components": rows}
    return plain | {"attachments": attachments}


def _attachment(world: World, name: str, data: bytes, described: Json) -> Json:
    number = world.new_id()
    address = f"http://cdn.invalid/attachments/{number}/{name}?ex=1"
    shown: Json = {
        "id": number,
        "filename": name,
        "size": len(data),
        "url": address,
        "proxy_url": address,
        "content_type": _TYPES.get("." + name.rsplit(".", 1)[-1], "application/octet-stream"),
    }
    if described.get("description"):
        shown["description"] = described["description"]
    return shown


def _numbered(row: Json, place: int) -> Json:
    """Rows and buttons come back with component ids."""
    items = [
        {name: value for name, value in one.items() if value is not None}
        | {"id": 10 * place + index + 2}
        for index, one in enumerate(row["components"])
    ]
    return {"type": 1, "id": 10 * place + 1, "components": items}


def create(
    world: World, channel_id: str, upload: Upload, *, only_for: str | None = None
) -> tuple[Message, bool]:
    """Store a message; the flag says whether it is new (False: the nonce was there already)."""
    body = upload.body or {}
    nonce = body.get("nonce")
    if nonce is not None and body.get("enforce_nonce"):
        earlier = world.sent_with(str(nonce))
        if earlier is not None and earlier.deleted:
            raise ApiError(404, 10008, "Unknown Message")
        if earlier is not None:
            return earlier, False
    check_limits(body, upload)
    kept = stored(world, body, upload, [])
    message = Message(
        id=world.new_id(),
        channel_id=channel_id,
        author_id=world.bot_id,
        body=kept,
        files=dict(upload.files.values()),
        at=world.clock.now(),
        nonce=None if nonce is None else str(nonce),
        only_for=only_for,
    )
    world.messages[message.id] = message
    return message, True


def edit(world: World, message: Message, upload: Upload) -> Message:
    """Change a message: what the request does not name stays."""
    body = upload.body or {}
    now = world.clock.now()
    recent = [at for at in message.edits if at > now - 20]
    if now - message.at > 3600 and len(recent) >= 3:
        raise ApiError(429, 30046, "Maximum number of edits to messages older than 1 hour reached")
    check_limits(body, upload, previous=message.body)
    kept = message.body["attachments"]
    if body.get("attachments") is not None:
        wanted = {str(one["id"]) for one in body["attachments"]}
        kept = [one for one in kept if one["id"] in wanted]
    changed = stored(world, body, upload, kept)
    names = [name for name in ("content", "embeds", "components") if name in body]
    message.body |= {name: changed[name] for name in names}
    message.body["attachments"] = changed["attachments"]
    message.files |= dict(upload.files.values())
    message.edits.append(now)
    return message
