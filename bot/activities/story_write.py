"""Story files written for an author who fills in a form: a head, and scenes one by one.

What was typed is written as it stands; whether it makes a story is for the reader and the check.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence

from bot.activities.story import FORMAT


def head_block(
    *,
    title: str,
    about: str,
    grades: tuple[str, str],
    voices: Sequence[str],
    steps: Sequence[str],
    key: str,
    finale: str,
    start: str,
) -> str:
    """What stands before the first scene. An empty `key` leaves the choice to the composer."""
    rows = [
        f"format = {FORMAT}",
        f"title = {quoted(title)}",
        *([f"about = {quoted(about)}"] if about else []),
        f"grades = [{', '.join(_number(grade) for grade in grades)}]",
        f"voices = [{', '.join(map(quoted, voices))}]",
        f"steps = [{', '.join(map(quoted, steps))}]",
        *([f"key = {quoted(key)}"] if key else []),
        f"finale = {_number(finale)}",
        f"start = {quoted(start)}",
    ]
    return "\n".join(rows) + "\n"


def scene_block(
    fields: Mapping[str, str], paths: Iterable[tuple[str, str, str]], *, stop: bool = False
) -> str:
    """A scene; `paths` are label, syllable, next. Fields that are empty are left out.

    `fields` may have id, text, sing, way and key.
    """
    rows = ["", "[[scene]]", f"id = {quoted(fields.get('id', ''))}"]
    text = fields.get("text", "").strip().replace("\\", "\\\\").replace('"""', "'''")
    rows += ['text = """', *text.splitlines(), '"""']
    rows += [
        f"{name} = {quoted(fields[name].strip())}"
        for name in ("sing", "way", "key")
        if fields.get(name, "").strip()
    ]
    if stop:
        rows.append("stop = true")
    for label, syllable, following in paths:
        rows += ["", "[[scene.path]]", f"label = {quoted(label)}"]
        rows += [f"syllable = {quoted(syllable)}", f"next = {quoted(following)}"]
    return "\n".join(rows) + "\n"


def quoted(text: str) -> str:
    r"""A text in quotes on one line, as TOML reads it.

    >>> print(quoted('An "owl"'))
    "An \"owl\""
    """
    return json.dumps(" ".join(text.split()), ensure_ascii=False).replace("\x7f", "\\u007f")


def _number(text: str) -> str:
    return text.strip() if text.strip().isdigit() else quoted(text)
