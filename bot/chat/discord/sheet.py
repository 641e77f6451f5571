"""What a message says, shows and sounds, as plain values, before it is anything of Discord's."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date

from bot.activities.taps import Went
from bot.errors import Refused
from bot.service.card import Arrangement, Card, ReadingCard, ScoreCard, StoryCard

NO_MARK = "-"  # of a button that belongs to no delivery
PART, READ, HEAR, SEAT, VOTE, TERM = "part", "read", "hear", "seat", "vote", "term"
NAME = "name"
_HOW = {Arrangement.TOGETHER: "t", Arrangement.APART: "a"}
_ARRANGEMENT = {letter: arrangement for arrangement, letter in _HOW.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One file: a plain ASCII name, its bytes, and the same in words."""

    name: str
    data: bytes
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Press:
    """What a button says when it is pressed, in this life of the program or a later one.

    `kind` names what to do (presses.py), `mark` stands for the key of a delivery, `words` are up to
    four short texts for whoever does it.
    """

    kind: str
    mark: str
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Button:
    """A button with words on it."""

    press: Press
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One message: a title, a text, a picture, files (sounds mostly), rows of worded buttons."""

    line: str
    title: str | None = None
    picture: Piece | None = None
    files: tuple[Piece, ...] = ()
    rows: tuple[tuple[Button, ...], ...] = ()


def mark_of(card: Card) -> str:
    """The delivery's key (choir, date, slot) as 12 hex digits: by it a message is found again."""
    return hashlib.sha256(card.key.encode()).hexdigest()[:12]


def part_press(card: ReadingCard, part: int, arrangement: Arrangement) -> Press:
    """Gives one part of a reading privately."""
    words = (card.reading_id, str(part), _HOW[arrangement])
    return Press(kind=PART, mark=mark_of(card), words=words)


def part_in(press: Press) -> tuple[str, int, Arrangement]:
    """Reading, part and arrangement; Refused("discord.old_button")."""
    with _of_this_release():
        reading_id, part, how = press.words
        return reading_id, int(part), _ARRANGEMENT[how]


def read_press(card: ReadingCard, went: Went | None) -> Press:
    """Says that the line was read; `went` is how, None where that is not asked."""
    words = (card.reading_id, card.on.isoformat(), "x" if went is None else went.value)
    return Press(kind=READ, mark=mark_of(card), words=words)


def read_in(press: Press) -> tuple[str, date, Went | None]:
    """Reading, its date and how it went; Refused("discord.old_button")."""
    with _of_this_release():
        reading_id, on, went = press.words
        return reading_id, date.fromisoformat(on), None if went == "x" else Went(went)


def hear_press(mark: str, reading_id: str) -> Press:
    """Gives the line as sound, after a try."""
    return Press(kind=HEAR, mark=mark, words=(reading_id,))


def hear_in(press: Press) -> str:
    """The reading; Refused("discord.old_button")."""
    with _of_this_release():
        (reading_id,) = press.words
        return reading_id


def vote_press(card: StoryCard, path: int) -> Press:
    """Votes for a path of the scene."""
    return Press(kind=VOTE, mark=mark_of(card), words=(card.telling, str(card.visit), str(path)))


def vote_in(press: Press) -> tuple[str, int, int]:
    """Telling, visit and path; Refused("discord.old_button")."""
    with _of_this_release():
        telling, visit, path = press.words
        return telling, int(visit), int(path)


def name_press(card: ReadingCard, name: str) -> Press:
    """Says which tune it is, by a short mark of the name."""
    mark = hashlib.sha256(name.encode()).hexdigest()[:8]
    return Press(kind=NAME, mark=NO_MARK, words=(card.reading_id, mark))


def name_in(press: Press) -> tuple[str, str]:
    """Reading and the name's mark; Refused("discord.old_button")."""
    with _of_this_release():
        reading_id, mark = press.words
        return reading_id, mark


def term_press(card: ScoreCard) -> Press:
    """Tells the matches of the term."""
    return Press(kind=TERM, mark=mark_of(card))


@contextmanager
def _of_this_release() -> Iterator[None]:
    """A button of another release may carry other words."""
    try:
        yield
    except (ValueError, KeyError) as error:
        raise Refused("discord.old_button") from error
