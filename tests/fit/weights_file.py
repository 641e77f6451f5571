"""The text of bot/music/weights.py."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from textwrap import fill

_HEAD = '''"""What folk tunes tend to do, in numbers fitted by `python -m tests.fit`, not by hand.

Logarithms of factors: 0.7 makes a way on about twice as likely, -0.7 half as likely. Method,
corpus and licence status are in content/SOURCES.md, under Weights.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
'''


def weights_text(
    *,
    line: Mapping[str, float],
    minor: Mapping[str, float],
    lean: Mapping[str, float],
    sharpness: Iterable[float],
    curve: Iterable[Iterable[Iterable[float]]],
    last: Iterable[float],
    start: Mapping[int, float],
    measure: Mapping[str, float],
    critic: Mapping[str, float],
    rhythm_critic: Mapping[str, float],
) -> str:
    """The module with these numbers."""
    rows = [
        "    (" + ", ".join(f"({', '.join(map(str, each))})" for each in phrase) + "),"
        for phrase in curve
    ]
    return "\n".join(
        [
            _HEAD,
            "# A way on in a line, by the traits of traits.py.",
            _mapping("LINE", "str", line),
            "# The same in minor: steps count from the tonic, however they are altered.",
            _mapping("MINOR", "str", minor),
            "# How a line leans on what it has sung, by the traits of leanings.py.",
            _mapping("LEAN", "str", lean),
            "# How much likelier the likely is than in song, in each measure of a phrase:",
            "# chances are raised to this power.",
            f"SHARPNESS = ({', '.join(map(str, sharpness))})",
            "",
            "# For each measure of a single phrase, of a first and of a last one: how much height",
            "# (in fours of scale steps above the middle) and its square count, and being do.",
            "CURVE = (",
            *rows,
            ")",
            "",
            "# Each degree (do first) as the last tone of the first of two phrases.",
            f"LAST = ({', '.join(map(str, last))})",
            "",
            "# Scale steps above do to start on.",
            _mapping("START", "int", start),
            "# A measure of rhythm, by the traits of measure_traits.py.",
            _mapping("MEASURE", "str", measure),
            "# Facts about a whole line, by the names of line_facts.py.",
            _mapping("CRITIC", "str", critic),
            "# Facts about its rhythm alone.",
            _mapping("RHYTHM_CRITIC", "str", rhythm_critic),
        ]
    )


def _mapping(name: str, key: str, rows: Mapping[str, float] | Mapping[int, float]) -> str:
    pairs = ", ".join(_pair(each, value) for each, value in rows.items())
    body = fill(
        pairs, 99, initial_indent="    ", subsequent_indent="    ", break_long_words=False,
        break_on_hyphens=False,
    ).replace("\N{NO-BREAK SPACE}", " ")  # fmt: skip
    return f"{name}: Mapping[{key}, float] = MappingProxyType({{\n{body},\n}})  # fmt: skip\n"


def _pair(key: str | int, value: float) -> str:
    shown = f'"{key}"' if isinstance(key, str) else str(key)
    return f"{shown}: {value}".replace(" ", "\N{NO-BREAK SPACE}")
