"""The room against the web: hosts, origins, headers, sizes, times, paths, scripts in fields."""

import asyncio
import re

import pytest

from bot.chat.room.routes import DESK_CHANGES, DESK_PAGES, OPEN_CHANGES, OPEN_PAGES
from tests.chat import house

_SAMPLES = {
    "choir": "c1",
    "reading": "c1-20251124",
    "part": "1",
    "on": "2025-11-25",
    "arrangement": "together",
    "kind": "picture.svg",
    "digest": "0" * 16,
    "name": "room.css",
    "size": "-large",
    "number": "1",
    "way": "retrograde",
    "match": "m1",
    "story": "lost-tuesday",
}
_GAP = re.compile(r"\{(\w+):(?:[^{}]|\{[^{}]*\})*\}")


def _paths(table):
    return [_GAP.sub(_sample, path) for path, _ in table]


def _sample(gap):
    """A value that fits the gap: the known one, else the first that its pattern names."""
    name, _, pattern = gap[0][1:-1].partition(":")
    known = _SAMPLES.get(name, "")
    if re.fullmatch(pattern, known):
        return known
    first = pattern.split("|")[0]
    assert re.fullmatch(pattern, first), f"a sample for {gap[0]} is wanted"
    return first


PAGES = [path for path in _paths(OPEN_PAGES + DESK_PAGES) if not path.endswith("/live")]
CHANGES = _paths(OPEN_CHANGES + DESK_CHANGES)
DESK = [("GET", path) for path in _paths(DESK_PAGES)] + [
    ("POST", path) for path in _paths(DESK_CHANGES)
]


@pytest.mark.parametrize("path", [*PAGES, "/healthz", "/no/such/page"])
async def test_every_answer_carries_the_safety_headers(visitor, path):
    response = await visitor.get(path)

    policy = response.headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy or "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe-eval" not in policy
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["Referrer-Policy"] == "same-origin"
    assert response.headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "Access-Control-Allow-Origin" not in response.headers
    assert response.headers["Server"] == "Riserbell"


@pytest.mark.parametrize("path", [path for path in PAGES if "/media/" not in path])
async def test_pages_have_no_script_and_no_style_of_their_own(visitor, path):
    response = await visitor.get(path)
    if response.content_type != "text/html":
        return
    page = await response.text()

    assert re.findall(r"<script(?![^>]*\bsrc=)", page) == []
    assert re.findall(r"<style|\sstyle=|\son[a-z]+=|javascript:", page) == []
    assert re.findall(r'(?:src|href)="(?:https?:)?//', page) == []


@pytest.mark.parametrize("path", ["/", "/desk", "/choir/c1", "/desk/status", "/no/such/page"])
async def test_pages_are_kept_by_no_cache(visitor, path):
    assert (await visitor.get(path)).headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:{port}", "127.0.0.1", "127.0.0.1:1", "", "127.0.0.2:{port}"],
)
async def test_another_host_is_turned_away(visitor, host):
    port = visitor.url.rsplit(":", 1)[1]
    response = await visitor.get("/", headers={"Host": host.format(port=port)})
    assert response.status in (400, 421)


@pytest.mark.parametrize("name", ["127.0.0.1", "localhost", "LOCALHOST"])
async def test_the_loopback_names_are_ours(visitor, name):
    port = visitor.url.rsplit(":", 1)[1]
    assert (await visitor.get("/", headers={"Host": f"{name}:{port}"})).status == 200


async def test_two_hosts_in_one_request_are_turned_away(room):
    port = int(room.url.rstrip("/").rsplit(":", 1)[1])
    answer = await _raw(
        port, f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nHost: evil.example\r\n\r\n"
    )
    assert answer.startswith((b"HTTP/1.1 400", b"HTTP/1.1 421", b"HTTP/1.0 400"))


async def _raw(port: int, request: str) -> bytes:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write(request.encode())
    answer = await asyncio.wait_for(reader.readline(), 5)
    writer.close()
    return answer


@pytest.mark.parametrize("path", CHANGES)
@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "http://127.0.0.1:1"},
    ],
)
async def test_a_change_asked_for_by_another_site_is_refused(visitor, services, path, headers):
    response = await visitor.post(path, {"name": "Stolen"}, headers=headers)

    assert response.status == 403
    assert [choir.name for choir in await services.choirs.all()] == ["Period 3 Treble"]
    assert services.readings.asked == []


async def test_a_change_that_does_not_say_where_it_comes_from_is_refused(visitor):
    response = await visitor.session.post(visitor.url + "/desk/choir/c1/post")
    assert response.status == 403


async def test_a_browser_that_sends_only_sec_fetch_site_is_believed(visitor, services):
    headers = {"Sec-Fetch-Site": "same-origin"}
    response = await visitor.session.post(
        visitor.url + "/desk/choir/c1/post", headers=headers, data={"x": ""}, allow_redirects=False
    )
    assert response.status == 303
    assert services.readings.asked == [("post", "c1")]


@pytest.mark.parametrize("path", sorted(set(CHANGES) - set(PAGES)))
async def test_changes_are_never_made_by_looking(visitor, services, path):
    response = await visitor.get(path)

    assert response.status == 405
    assert services.readings.asked == []


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
async def test_other_methods_do_nothing(visitor, method):
    response = await visitor.session.request(method, visitor.url + "/desk/choir/c1/remove")
    assert response.status == 405


@pytest.mark.parametrize(("method", "path"), DESK)
async def test_every_page_and_change_of_the_desk_is_behind_the_lock(
    visitor, services, method, path
):
    services.desk.passphrase = house.PASSPHRASE

    response = await (visitor.get(path) if method == "GET" else visitor.post(path, {"a": "b"}))

    assert response.status == 401
    assert "The desk is locked" in await response.text()
    assert services.readings.asked == []


@pytest.mark.parametrize(
    "path",
    [
        "/static/../server.py",
        "/static/0000000000000000/..%2f..%2fserver.py",
        "/static/%2e%2e/%2e%2e/etc/passwd",
        "/media/..%2f..%2fetc/together/0/picture.svg",
        "/media/c1-20251124/together/0/..%2f..%2fpasswd",
        "/media/c1-20251124/together/0/picture.exe",
        "/media/c1-20251124/sideways/0/picture.svg",
        "/reading/..%2f..",
        "/choir/%00",
    ],
)
async def test_no_path_leads_out_of_the_room(visitor, path):
    response = await visitor.session.get(visitor.url + path, allow_redirects=False)
    text = await response.text()

    assert response.status == 404
    assert "root:" not in text
    assert "import" not in text
