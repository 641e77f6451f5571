"""Pictures and sounds of the room: typed, harmless, kept for ever under a marked address."""

import re
from dataclasses import replace

import pytest

from bot.errors import RenderFailed
from bot.service.card import Media
from tests.chat import house


async def _page(visitor, path="/") -> str:
    response = await visitor.get(path)
    assert response.status == 200
    return await response.text()


@pytest.mark.parametrize(
    ("kind", "content_type"),
    [
        (Media.PICTURE_SVG, "image/svg+xml"),
        (Media.PHONE_PICTURE, "image/svg+xml"),
        (Media.PICTURE, "image/png"),
        (Media.KEY_SOUND, "audio/mpeg"),
        (Media.PITCH_SOUND, "audio/mpeg"),
    ],
)
async def test_media_are_typed_and_cannot_run_anything(visitor, kind, content_type):
    response = await visitor.get(f"/media/c1-20251124/together/0/{kind.value}")

    assert response.content_type == content_type
    assert "sandbox" in response.headers["Content-Security-Policy"]


async def test_media_named_by_the_sheet_are_kept_for_ever(visitor):
    page = await _page(visitor)
    (picture, *_) = re.findall(r'src="(/media/[^"]+picture\.svg\?v=\w+)"', page)

    response = await visitor.get(picture)

    assert response.headers["Cache-Control"] == "private, max-age=31536000, immutable"


async def test_media_change_their_address_when_the_choir_changes_its_looks(visitor, services):
    before = re.findall(r"\?v=(\w+)", await _page(visitor))
    choir = services.choirs.kept["c1"]
    looks = replace(choir.presentation, mark_do=False)
    services.choirs.kept["c1"] = replace(choir, presentation=looks)

    after = re.findall(r"\?v=(\w+)", await _page(visitor))

    assert set(before).isdisjoint(after)


async def test_media_asked_for_without_the_mark_are_asked_for_again(visitor):
    path = "/media/c1-20251124/together/0/key.mp3"
    first = await visitor.get(path)
    again = await visitor.get(path, headers={"If-None-Match": first.headers["ETag"]})

    assert first.headers["Cache-Control"] == "no-cache"
    assert again.status == 304


@pytest.mark.parametrize(
    ("asked", "status", "answered"),
    [
        ("bytes=0-9", 206, "bytes 0-9/{size}"),
        ("bytes=10-", 206, "bytes 10-{last}/{size}"),
        ("bytes=-5", 206, "bytes {tail}-{last}/{size}"),
        ("bytes=9999999-", 416, "bytes */{size}"),
    ],
)
async def test_a_player_gets_the_stretch_of_sound_it_asks_for(visitor, asked, status, answered):
    size = len(house.sound())
    path = "/media/c1-20251124/together/0/key.mp3"

    response = await visitor.get(path, headers={"Range": asked})

    assert response.status == status
    expected = answered.format(size=size, last=size - 1, tail=size - 5)
    assert response.headers["Content-Range"] == expected


async def test_a_sound_that_cannot_be_made_just_now_says_try_again(visitor, services):
    services.readings.broken = RenderFailed("the engraver is gone")
    response = await visitor.get("/media/c1-20251124/together/0/key.mp3")
    assert response.status == 503
