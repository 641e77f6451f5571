"""Tonic sol-fa letters: the names of the tones, and how a pulse is divided.

The rules are those of the printed letter notation: `trade.md` section 4 names the encyclopedia
articles and J. Curwen's Standard Course (1892). Two sets of chromatic names exist, and some words
(`se`, `le`, `la`, `re`) mean different tones in them, so the dialect is always said.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from bot.music.exercise import Tone

DEGREES = "drmfslt"
SLOTS = 4  # a pulse is divided in quarters at the most


class Dialect(StrEnum):
    """Whose names the chromatic tones have: today's classroom (`fi`, `te`) or Curwen's."""

    MODERN = "modern"
    CURWEN = "curwen"


_RAISED = {
    Dialect.MODERN: ("di", "ri", "", "fi", "si", "li", ""),
    Dialect.CURWEN: ("de", "re", "", "fe", "se", "le", ""),
}
_LOWERED = {
    Dialect.MODERN: ("", "ra", "me", "", "se", "le", "te"),
    Dialect.CURWEN: ("", "ra", "ma", "", "sa", "la", "ta"),
}
_RAISED_SIXTH_OF_MINOR = "ba"  # Curwen's word for it; six semitones above doh


def _names(dialect: Dialect) -> Mapping[str, Tone]:
    names = {letter: Tone(step=step) for step, letter in enumerate(DEGREES)}
    for alter, words in ((1, _RAISED[dialect]), (-1, _LOWERED[dialect])):
        names |= {word: Tone(step=step, alter=alter) for step, word in enumerate(words) if word}
    if dialect is Dialect.CURWEN:
        names[_RAISED_SIXTH_OF_MINOR] = Tone(step=3, alter=1)
    return MappingProxyType(names)


NAMES = MappingProxyType({dialect: _names(dialect) for dialect in Dialect})


def name_of(tone: Tone, dialect: Dialect, *, minor: bool) -> str | None:
    """Name a tone with its octave marks (`'` up, `_` down); None where it has no name.

    >>> name_of(Tone(step=-4, alter=1), Dialect.MODERN, minor=False)
    'fi_'
    """
    octave, degree = divmod(tone.step, 7)
    match tone.alter:
        case 0:
            word = DEGREES[degree]
        case 1 if minor and dialect is Dialect.CURWEN and degree == 3:
            word = _RAISED_SIXTH_OF_MINOR
        case 1:
            word = _RAISED[dialect][degree]
        case -1:
            word = _LOWERED[dialect][degree]
        case _:
            word = ""
    return word + ("'" * octave if octave > 0 else "_" * -octave) if word else None


# Where a pulse is cut (after its first, second or third quarter), and the signs that cut it there.
_CUTS = {
    (): (),
    (1,): (",",),
    (2,): (".",),
    (3,): (".,",),
    (1, 2): (",", "."),
    (1, 3): (",", ".,"),
    (2, 3): (".", ","),
    (1, 2, 3): (",", ".", ","),
}
_SIGNS = {signs: cuts for cuts, signs in _CUTS.items()}


def cuts_of(signs: tuple[str, ...]) -> tuple[int, ...] | None:
    """Return the quarters after which the signs (`.`, `,`, `.,`) cut a pulse, None if they cannot.

    >>> cuts_of((".",)), cuts_of((".,",)), cuts_of((",", ",", ","))
    ((2,), (3,), None)
    """
    return _SIGNS.get(signs)


def pulse_text(cells: Mapping[int, str]) -> str:
    """Write a pulse; `cells` names what begins at each quarter of it, 0 first.

    >>> pulse_text({0: "d", 3: "r"}), pulse_text({0: "-", 2: ""})
    ('d.,r', '-.')
    >>> pulse_text({0: "d", 2: "", 3: "r"})
    'd. ,r'
    """
    cuts = tuple(sorted(quarter for quarter in cells if quarter))
    text = cells[0]
    for cut, sign in zip(cuts, _CUTS[cuts], strict=True):
        # A silent third quarter: a blank keeps its two signs from being one.
        text += (" " if sign == "," and text.endswith(".") else "") + sign + cells[cut]
    return text
