"""A page that is left at once: what was sent is kept, however long the room is in answering."""

import asyncio

import pytest

from tests.chat import house


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("application/x-www-form-urlencoded", b"new={0}&again={0}"),
        (
            "multipart/form-data; boundary=b",
            b'--b\r\nContent-Disposition: form-data; name="new"\r\n\r\n{0}\r\n'
            b'--b\r\nContent-Disposition: form-data; name="again"\r\n\r\n{0}\r\n--b--\r\n',
        ),
    ],
)
async def test_a_form_whose_page_is_left_before_the_answer_is_kept(
    room, services, monkeypatch, kind, body
):
    at_the_door, go_on = asyncio.Event(), asyncio.Event()
    has_passphrase = services.desk.has_passphrase

    async def slowly():
        at_the_door.set()
        await go_on.wait()
        return await has_passphrase()

    monkeypatch.setattr(services.desk, "has_passphrase", slowly)
    host = room.url.removeprefix("http://").rstrip("/")
    body = body.replace(b"{0}", house.PASSPHRASE.replace(" ", "-").encode())
    head = (
        f"POST /desk/passphrase HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\n"
        f"Content-Type: {kind}\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    _, writer = await asyncio.open_connection(*host.split(":"))
    writer.write(head.encode() + body)
    async with asyncio.timeout(10):
        await at_the_door.wait()
        writer.close()
        await writer.wait_closed()
        await asyncio.sleep(0.05)  # the room is told that nobody waits any more
        go_on.set()
        while services.desk.passphrase is None:  # noqa: ASYNC110 - nobody is left to be told
            await asyncio.sleep(0.01)
    assert services.desk.passphrase == house.PASSPHRASE.replace(" ", "-")
