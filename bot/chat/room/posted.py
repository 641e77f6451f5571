"""What a form sent: fields and files, read with limits of size, number and time."""

from __future__ import annotations

import asyncio
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from urllib.parse import parse_qs

from aiohttp import BodyPartReader, web

from bot.chat.room.safety import Handler
from bot.errors import Fault

FIELDS_LIMIT = 64 * 1024
FILE_LIMIT = 2 * 1024 * 1024
_FIELD_COUNT = 300
# A file over the limit is read to its end, up to here, so that the form can come back with a
# fault beside it instead of a broken connection.
_DRAIN_LIMIT = 16 * 1024 * 1024
_BODY_TIME_S = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PostedFile:
    """A file as it came; `data` is None where it is larger than the limit."""

    name: str
    data: bytes | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Posted:
    """A form's fields, each with all its values in order, and its files."""

    fields: Mapping[str, list[str]] = field(default_factory=dict)
    files: Mapping[str, PostedFile] = field(default_factory=dict)

    def text(self, name: str) -> str:
        """The last value of a field, or nothing."""
        values = self.fields.get(name)
        return values[-1] if values else ""


_FIELDS, _FILES = "application/x-www-form-urlencoded", "multipart/form-data"
_POSTED = web.RequestKey("posted", Posted)


@web.middleware
async def taken(request: web.Request, handler: Handler) -> web.StreamResponse:
    """Take a form in before anything waits for the database.

    Whoever leaves the page at once has sent it all the same; what was not yet read of a request
    is gone when its connection goes.
    """
    known = request.match_info.http_exception is None
    if known and request.method == "POST" and request.content_type in (_FIELDS, _FILES):
        request[_POSTED] = await _read(request)
    return await handler(request)


async def read_posted(request: web.Request) -> Posted:
    """What was sent; the answers 400, 408, 413 and 415 are raised as aiohttp's own."""
    return request[_POSTED] if _POSTED in request else await _read(request)


async def _read(request: web.Request) -> Posted:
    try:
        async with asyncio.timeout(_BODY_TIME_S):
            if request.content_type == _FIELDS:
                return Posted(fields=_fields((await _whole(request)).decode()))
            if request.content_type == _FILES:
                return await _multipart(request)
    except TimeoutError as error:
        raise web.HTTPRequestTimeout from error
    except (UnicodeDecodeError, ValueError, AssertionError) as error:
        raise web.HTTPBadRequest from error
    raise web.HTTPUnsupportedMediaType


def by_field(faults: Iterable[Fault]) -> dict[str, list[str]]:
    """What is wrong with each field, as the form shows it beside them."""
    found: defaultdict[str, list[str]] = defaultdict(list)
    for fault in faults:
        found[fault.place].append(fault.problem)
    return dict(found)


async def _whole(request: web.Request) -> bytes:
    data = bytearray()
    async for chunk in request.content.iter_chunked(16 * 1024):
        data += chunk
        if len(data) > FIELDS_LIMIT:
            raise web.HTTPRequestEntityTooLarge(FIELDS_LIMIT, len(data))
    return bytes(data)


def _fields(text: str) -> dict[str, list[str]]:
    pairs = parse_qs(text, keep_blank_values=True, max_num_fields=_FIELD_COUNT, errors="strict")
    return {name: [_clean(value) for value in values] for name, values in pairs.items()}


def _clean(value: str) -> str:
    """Without control characters, with plain line ends: what a person can type."""
    value = value.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(char for char in value if char in "\n\t" or char.isprintable())


async def _multipart(request: web.Request) -> Posted:
    fields: defaultdict[str, list[str]] = defaultdict(list)
    files: dict[str, PostedFile] = {}
    reader = await request.multipart()
    taken, count = 0, 0
    async for part in reader:
        count += 1
        if count > _FIELD_COUNT or not isinstance(part, BodyPartReader) or part.name is None:
            raise web.HTTPBadRequest
        if part.filename is not None:
            files[part.name] = PostedFile(name=_clean(part.filename)[:120], data=await _file(part))
            continue
        data = await _part_field(part, FIELDS_LIMIT - taken)
        taken += len(data)
        fields[part.name].append(_clean(data.decode()))
    return Posted(fields=dict(fields), files=files)


async def _part_field(part: BodyPartReader, left: int) -> bytes:
    data = bytearray()
    while chunk := await part.read_chunk():
        data += chunk
        if len(data) > left:
            raise web.HTTPRequestEntityTooLarge(FIELDS_LIMIT, FIELDS_LIMIT + 1)
    return bytes(data)


async def _file(part: BodyPartReader) -> bytes | None:
    data, size = bytearray(), 0
    while chunk := await part.read_chunk():
        size += len(chunk)
        if size > _DRAIN_LIMIT:
            raise web.HTTPRequestEntityTooLarge(FILE_LIMIT, size)
        if size <= FILE_LIMIT:
            data += chunk
    return bytes(data) if size <= FILE_LIMIT else None
