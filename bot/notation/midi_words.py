"""Words in a MIDI file: one lyric event a syllable, at the time of its note.

As the recommended practice of the MIDI makers has it (RP-017): a blank ends a word. A syllable that
is not the last of its word ends in a hyphen besides, as notation programs and karaoke files write
it; whoever knows only one of the two signs reads the words right.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

_ON_ONE_NOTE = "\N{THIN SPACE}"  # between two words that share a note
_LINE_SIGNS = ("/", "\\")  # before the first syllable of a line or verse


@dataclass(frozen=True, slots=True, kw_only=True)
class Lyric:
    """The text of a lyric event, and when it comes, in whole notes."""

    at: Fraction
    text: str


def lyric_of(word: str) -> str:
    """The text of the event for what stands under a note, a character a byte.

    Letters beyond ASCII are in UTF-8; the library writes what it gets as Latin-1.

    >>> lyric_of("lan-"), lyric_of("terns,")
    ('lan-', 'terns, ')
    """
    goes_on = len(word) > 1 and word.endswith("-")
    text = word.replace(_ON_ONE_NOTE, " ") + ("" if goes_on else " ")
    return text.encode().decode("latin-1")


def text_of(lyric: str) -> str:
    """A text as it was meant: files of today are in UTF-8, older ones in Latin-1."""
    try:
        return lyric.encode("latin-1").decode()
    except UnicodeDecodeError:
        return lyric


def words_at(onsets: Sequence[Fraction], lyrics: Sequence[Lyric]) -> tuple[str, ...]:
    """What stands under the notes that begin at `onsets`; empty unless each has a text.

    Where no text ends in a blank, hyphens alone say that a word goes on; karaoke files, whose words
    begin with a blank, are read too.
    """
    texts = _texts(lyrics)
    if not onsets or any(onset not in texts for onset in onsets):
        return ()
    found = [texts[onset] for onset in onsets]
    blanks = any(text[:1].isspace() or text[-1:].isspace() for text in found)
    words = [
        _word(text, goes_on=blanks and not (text[-1:].isspace() or after[:1].isspace()))
        for text, after in zip(found, [*found[1:], " "], strict=True)
    ]
    return tuple(words) if all(words) else ()


def _texts(lyrics: Sequence[Lyric]) -> Mapping[Fraction, str]:
    """The texts by their time; a sign that begins a line counts as a blank before it."""
    texts: dict[Fraction, str] = {}
    for lyric in lyrics:
        text = lyric.text.replace("\0", "")
        if text.startswith(_LINE_SIGNS):
            text = " " + text[1:]
        if text.strip():
            texts.setdefault(lyric.at, text)
    return texts


def _word(text: str, *, goes_on: bool) -> str:
    body = _ON_ONE_NOTE.join(text.split())
    return f"{body}-" if goes_on and not body.endswith("-") else body
