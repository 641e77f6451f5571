"""Tones and rhythms as they are said: `low so` for `so,`, `dotted quarter, eighth` for `q. e`."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from bot.music.cell import CellNote, cell_notes
from bot.music.needs import Atom, Kind
from bot.music.rhythm import note_value
from bot.notation.faults import mixed
from bot.notation.words import value_words
from bot.wording import Wording

_TONE = re.compile(r"\b([a-z]{2})('+|,+)")
_OCTAVES = {"'": "words.high", ",": "words.low"}
_PLACES = 3  # of one thing that are named; how many more there are is said


def spoken_tones(text: str, say: Wording) -> str:
    """Tones in the words of a sequence file, each as it is said."""
    return _TONE.sub(lambda found: say(_OCTAVES[found[2][0]], name=found[1]), text)


def spoken_rhythm(text: str, say: Wording) -> str:
    """Groups of notes with commas between them, each as it is said; unknown ones as they are."""
    try:
        groups = [cell_notes(group) for group in text.split(", ")]
    except ValueError:
        return text
    return "; ".join(", ".join(_value(note, say) for note in group) for group in groups)


def atom_words(atom: Atom, say: Wording) -> str:
    """What a line needs, as it is said."""
    match atom.kind:
        case Kind.TONE | Kind.SKIP:
            return say(atom.kind, what=spoken_tones(atom.what, say))
        case Kind.CELL:
            return say(atom.kind, what=spoken_rhythm(atom.what, say))
        case Kind.HELD if atom.step is None:
            return say("need.held_otherwise")
        case _:
            return say(atom.kind, what=atom.what)


def in_place(what: str, measure: int, beat: Fraction, say: Wording) -> str:
    """Something with its place, as musicians count; a pickup is no measure 0 to them."""
    if measure == 0:
        return say("checking.in_pickup", what=what, beat=mixed(beat))
    return say("checking.place", what=what, measure=measure, beat=mixed(beat))


def in_places(atoms: Iterable[Atom], say: Wording) -> Iterator[str]:
    """Each thing once with its places, in the order in which things first come.

    The first three places are named, and how many more there are. A pickup is its own place.
    """
    found: dict[tuple[Kind, str], list[Atom]] = {}
    for atom in atoms:
        found.setdefault((atom.kind, atom.what), []).append(atom)
    for same in found.values():
        words = atom_words(same[0], say)
        places = [(atom.measure, atom.beat) for atom in same]
        yield words if same[0].kind is Kind.PICKUP else with_places(words, places, say)


def with_places(what: str, places: Sequence[tuple[int, Fraction]], say: Wording) -> str:
    """A thing with its first three places (measure and beat), and how many more there are."""
    words = in_place(what, *places[0], say)
    for measure, beat in places[1:_PLACES]:
        words = say("checking.and_in", what=words, measure=measure, beat=mixed(beat))
    left = len(places) - _PLACES
    return say("checking.and_more", what=words, count=left) if left > 0 else words


def _value(note: CellNote, say: Wording) -> str:
    value = note_value(note.duration)
    assert value is not None, "a cell has note values"
    words = value_words(value, say)
    return say("words.rest", value=words) if note.rest else words
