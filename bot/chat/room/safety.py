"""Who may speak to the room: Host, Origin and the headers that every answer carries.

Sources: OWASP ASVS 5.0 (3.3 cookies, 3.4 browser security headers, 3.5 origin separation) and the
OWASP sheet on cross-site request forgery (Sec-Fetch-Site first, Origin as the fallback that a
plain-HTTP school network needs).
"""

from __future__ import annotations

import ipaddress
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from urllib.parse import urlsplit

from aiohttp import web
from aiohttp.typedefs import Middleware

from bot.errors import SettingsProblem

Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]

LOOPBACK_NAMES = ("127.0.0.1", "localhost", "[::1]")

PAGE_POLICY = (
    "default-src 'self'; object-src 'none'; base-uri 'self'; form-action 'self'; "
    "frame-ancestors 'none'"
)
# An engraving opened by itself may style itself and nothing else.
PICTURE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; sandbox; frame-ancestors 'none'"

_ALWAYS = {
    "Content-Security-Policy": PAGE_POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # `no-referrer` would make browsers send `Origin: null` with every form.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cache-Control": "no-store",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """Where the room listens and which names it answers to.

    `public_url` is a bare origin such as `https://choir.example.org`, or None.
    """

    host: str
    port: int
    public_url: str | None = None

    def __post_init__(self) -> None:
        if self.public_url is not None:
            parts = urlsplit(self.public_url)
            bare = parts.path in ("", "/") and not (parts.query or parts.fragment or parts.username)
            if parts.scheme not in ("http", "https") or not parts.hostname or not bare:
                raise SettingsProblem(
                    f"--url is {self.public_url!r}: write an address without a path, "
                    "for example https://choir.example.org"
                )

    @property
    def secure(self) -> bool:
        """Whether browsers come by https, so that cookies may say Secure."""
        return self.public_url is not None and self.public_url.startswith("https:")

    @property
    def url(self) -> str:
        """The address to open and to link, ending with a slash."""
        if self.public_url is not None:
            return self.public_url.rstrip("/") + "/"
        host = "127.0.0.1" if self.host in ("0.0.0.0", "::", "localhost") else self.host  # noqa: S104 - compared, not bound
        shown = f"[{host}]" if ":" in host else host
        return f"http://{shown}:{self.port}/"

    @property
    def on_loopback(self) -> bool:
        """Whether only this machine can reach the room."""
        if self.public_url is not None:
            return False
        return self.host == "localhost" or _is_loopback(self.host)

    @property
    def linked_here(self) -> bool:
        """Whether the address that is handed out leads to whatever machine it is typed on."""
        name = urlsplit(self.url).hostname or ""
        return name == "localhost" or _is_loopback(name)

    def accepts(self, host: str, reached_at: str | None) -> bool:
        """Whether a Host header names this room.

        `reached_at` is the local address of the connection: a numeric Host must be exactly it, so
        a name that an attacker points at this machine never passes.
        """
        names = {f"{name}:{self.port}" for name in LOOPBACK_NAMES}
        if self.port == 80:
            names.update(LOOPBACK_NAMES)
        if self.public_url is not None:
            names.add(urlsplit(self.public_url).netloc.lower())
        if reached_at is not None:
            shown = f"[{reached_at}]" if ":" in reached_at else reached_at
            names.add(f"{shown}:{self.port}")
        return host.lower() in names

    def origin_of(self, host: str) -> str:
        """The origin that a page of ours has when it is reached under this Host."""
        if self.public_url is not None:
            public = urlsplit(self.public_url)
            if public.netloc.lower() == host.lower():
                return f"{public.scheme}://{public.netloc}".lower()
        return f"http://{host}".lower()

    def is_local(self, request: web.Request) -> bool:
        """Whether the request comes from this very machine, by a loopback name and no proxy."""
        if self.public_url is not None:
            return False
        name = request.host.rsplit(":", 1)[0].lower()
        return name in LOOPBACK_NAMES and _is_loopback(peer_of(request) or "")


def peer_of(request: web.Request) -> str | None:
    """The numeric address at the other end; kept in memory for the throttle, never logged."""
    return _end(request, "peername")


def _end(request: web.Request, which: str) -> str | None:
    name = request.transport.get_extra_info(which) if request.transport is not None else None
    if not isinstance(name, tuple):
        return None
    return str(name[0]).removeprefix("::ffff:")


def _is_loopback(text: str) -> bool:
    try:
        return ipaddress.ip_address(text).is_loopback
    except ValueError:
        return False


def guard(address: Callable[[], Address]) -> Middleware:
    """Refuse requests for another host and changes asked for by another site."""

    @web.middleware
    async def guarded(request: web.Request, handler: Handler) -> web.StreamResponse:
        here = address()
        hosts = request.headers.getall("Host", [])
        if len(hosts) != 1 or not here.accepts(hosts[0], _end(request, "sockname")):
            raise web.HTTPMisdirectedRequest
        if request.method not in ("GET", "HEAD", "POST"):
            raise web.HTTPMethodNotAllowed(request.method, ("GET", "HEAD", "POST"))
        if request.method == "POST" and not same_origin(request, here):
            raise web.HTTPForbidden
        return await handler(request)

    return guarded


def same_origin(request: web.Request, here: Address) -> bool:
    """Whether the browser says that one of our own pages sent this; silence is no yes."""
    site = request.headers.get("Sec-Fetch-Site")
    origin = request.headers.get("Origin")
    if site is not None and site != "same-origin":
        return False
    if origin is not None:
        return origin.lower() == here.origin_of(request.host)
    return site == "same-origin"


async def dress(request: web.Request, response: web.StreamResponse) -> None:
    """Give every answer its safety headers; an answer may have set stricter ones of its own."""
    for name, value in _ALWAYS.items():
        response.headers.setdefault(name, value)
    response.headers["Server"] = "Riserbell"
