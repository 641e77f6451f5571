"""Requests and answers checked against Discord's published OpenAPI description.

The description is Discord's own (MIT) and is not kept in this repository. It is looked for in
$RISERBELL_DISCORD_OPENAPI, then at ../shared/reference/discord-openapi.json beside the checkout.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012

_VARIABLE = "RISERBELL_DISCORD_OPENAPI"
_BESIDE = Path("shared/reference/discord-openapi.json")
_NAME = "urn:discord"
# What discord.py sends beside the description and Discord does not mind.
_IGNORED_BODIES = {("DELETE", "/users/@me/guilds/{guild_id}"): {"lurking": False}}


def openapi_file() -> Path | None:
    """Where the description lies on this machine, or None."""
    named = os.environ.get(_VARIABLE)
    if named:
        return Path(named)
    beside = Path(__file__).resolve().parents[3] / _BESIDE
    return beside if beside.is_file() else None


@cache
def load_openapi() -> OpenApi | None:
    """The checker, or None where the description is absent."""
    file = openapi_file()
    return None if file is None else OpenApi(json.loads(file.read_text(encoding="utf-8")))


class OpenApi:
    """Checks one request or answer at a time; every finding is one line of text."""

    def __init__(self, document: dict[str, Any]) -> None:
        self._paths: dict[str, Any] = document["paths"]
        resource = Resource.from_contents(document, default_specification=DRAFT202012)
        self._registry = Registry().with_resource(_NAME, resource)
        self._ready: dict[str, Draft202012Validator] = {}

    def request(
        self,
        method: str,
        template: str,
        *,
        path: dict[str, str],
        query: dict[str, str],
        body: Any,
        multipart: bool,
    ) -> list[str]:
        """What is wrong with a request, nothing if it fits the description."""
        item = self._paths.get(template)
        operation = None if item is None else item.get(method.lower())
        if operation is None:
            return [f"{method} {template}: not in the description"]
        where = f"{method} {template}"
        here = _pointer("paths", template, method.lower())
        faults = self._parameters(where, template, method.lower(), path, query)
        content = operation.get("requestBody", {}).get("content")
        kind = "multipart/form-data" if multipart else "application/json"
        if body is None or body == _IGNORED_BODIES.get((method, template)):
            if content and operation["requestBody"].get("required"):
                faults.append(f"{where}: the body is missing")
        elif not content or kind not in content:
            faults.append(f"{where}: takes no {kind}")
        else:
            pointer = f"{here}/requestBody/content/{_escape(kind)}/schema"
            faults += self._faults(where, pointer, _ids_as_text(body))
        return faults

    def answer(self, method: str, template: str, status: int, body: Any) -> list[str]:
        """What is wrong with the stand-in's own answer."""
        operation = self._paths.get(template, {}).get(method.lower())
        if operation is None:
            return []
        known = operation["responses"]
        name = str(status) if str(status) in known else f"{status // 100}XX"
        if name not in known:
            return [] if status >= 500 else [f"{method} {template}: no answer {status} documented"]
        if "$ref" in known[name]:
            pointer = known[name]["$ref"].lstrip("#") + "/content/application~1json/schema"
        elif "content" in known[name]:
            here = _pointer("paths", template, method.lower(), "responses", name)
            pointer = f"{here}/content/application~1json/schema"
        else:
            return [] if body is None else [f"{method} {template}: {status} has no body"]
        return self._faults(f"{method} {template} -> {status}", pointer, body)

    def _parameters(
        self, where: str, template: str, method: str, path: dict[str, str], query: dict[str, str]
    ) -> list[str]:
        faults, known = [], set()
        for base in (_pointer("paths", template), _pointer("paths", template, method)):
            node = self._node(base)
            for index, parameter in enumerate(node.get("parameters", [])):
                name, place = parameter["name"], parameter["in"]
                given = (path if place == "path" else query).get(name)
                known.add(name)
                if given is None:
                    if parameter.get("required"):
                        faults.append(f"{where}: parameter {name} is missing")
                    continue
                pointer = f"{base}/parameters/{index}/schema"
                faults += self._faults(f"{where}: {name}", pointer, _typed(given, parameter))
        return faults + [
            f"{where}: unknown parameter {name}" for name in query if name not in known
        ]

    def _node(self, pointer: str) -> Any:
        return self._registry.resolver(_NAME).lookup(f"#{pointer}").contents

    def _faults(self, where: str, pointer: str, value: Any) -> list[str]:
        if pointer not in self._ready:
            schema = {"$ref": f"{_NAME}#{pointer}"}
            self._ready[pointer] = Draft202012Validator(schema, registry=self._registry)
        return [
            f"{where}: {'/'.join(map(str, error.absolute_path)) or 'body'}: {error.message[:200]}"
            for error in self._ready[pointer].iter_errors(value)
        ]


def _typed(text: str, parameter: dict[str, Any]) -> Any:
    kind = parameter["schema"].get("type")
    if kind == "integer" and re.fullmatch(r"-?\d+", text):
        return int(text)
    if kind == "boolean" and text.lower() in ("true", "false", "1", "0"):
        return text.lower() in ("true", "1")
    return text


def _ids_as_text(body: Any) -> Any:
    """The body with the numbers of new attachments as text.

    The description types every id as a string; Discord's reference on uploading files numbers new
    attachments 0, 1, 2 in its examples, and so does discord.py.
    """
    if not isinstance(body, dict):
        return body
    changed = dict(body)
    if isinstance(body.get("data"), dict):
        changed["data"] = _ids_as_text(body["data"])
    if isinstance(body.get("attachments"), list):
        changed["attachments"] = [one | {"id": str(one.get("id"))} for one in body["attachments"]]
    return changed


def _escape(part: str) -> str:
    # In a fragment braces and brackets stand percent-encoded, slashes as JSON pointers write them.
    pointer = part.replace("~", "~0").replace("/", "~1")
    return pointer.replace("{", "%7B").replace("}", "%7D").replace("@", "%40")


def _pointer(*parts: str) -> str:
    return "".join(f"/{_escape(part)}" for part in parts)


def lines(faults: Iterable[str]) -> str:
    """Findings as a message for an assertion."""
    return "\n".join(faults)
