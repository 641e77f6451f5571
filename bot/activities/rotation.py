"""The plan of a week or month: a reading on every meeting day, a playful one now and then. Pure.

A playful reading is still reading: it has at least as many measures as a card day. Of any five
meeting days in a row two are playful at most, and none follows another. Which one comes is decided
by how long it has not been used; the day says why. What the director kept stands as it is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from bot.errors import Refused

WINDOW, MOST_PLAYFUL = 5, 2  # of so many meeting days in a row


class Kind(StrEnum):
    """What a meeting day reads, in the order in which new ones are introduced."""

    CARD = "card"
    RHYTHM_ONLY = "rhythm-only"
    CURTAIN = "curtain"
    ONLY_DO = "only-do"
    ECHO_HALVES = "echo-halves"
    MYSTERY_TUNE = "mystery-tune"
    RETROGRADE = "retrograde"
    MATCH = "match"
    HIDDEN_MEASURES = "hidden-measures"
    STORY = "story"


PLAYFUL = tuple(kind for kind in Kind if kind is not Kind.CARD)


class Why(StrEnum):
    """Why a day has what it has."""

    KEPT = "kept"  # the director said so
    OVER = "over"  # the day lies behind
    NEW = "new"  # this choir has not had it yet
    UNUSED = "unused"  # longest unused of all
    BEGINS = "begins"  # a week begins with a card
    BETWEEN = "between"  # a card stands between two playful days
    SHARE = "share"  # two of five are playful already
    NONE_ELSE = "none-else"  # nothing playful is on offer


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What a kind of reading comes to: so many pieces of so many measures, in minutes."""

    pieces: int
    measures: int  # of each piece
    minutes: int

    @property
    def read(self) -> int:
        """Measures that are read in all."""
        return self.pieces * self.measures


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanDay:
    """One meeting day. `weeks` is how long its kind was not used, for `Why.UNUSED`."""

    on: date
    kind: Kind
    load: Load
    why: Why
    weeks: int = 0


_CARD_MINUTES = 5
# Minutes beside the card's own, as long as these take when nothing goes wrong.
_EXTRA = {
    Kind.RHYTHM_ONLY: 1, Kind.CURTAIN: 2, Kind.ONLY_DO: 2, Kind.ECHO_HALVES: 2, Kind.RETROGRADE: 3,
    Kind.HIDDEN_MEASURES: 2,
}  # fmt: skip
_SHORT = 4  # measures of a tune's opening, a scene's line, a turn of a match
_A_TUNE, _A_SCENE, _A_TURN = 2, 4, 3  # minutes; a turn is one of each side


def load_of(kind: Kind, card_measures: int) -> Load:
    """What a kind comes to where a card has so many measures; never fewer than the card.

    >>> load_of(Kind.MYSTERY_TUNE, 8)
    Load(pieces=2, measures=4, minutes=6)
    """
    short = -(-card_measures // _SHORT)
    match kind:
        case Kind.MYSTERY_TUNE:
            return Load(pieces=short, measures=_SHORT, minutes=2 + _A_TUNE * short)
        case Kind.STORY:
            return Load(pieces=short, measures=_SHORT, minutes=2 + _A_SCENE * short)
        case Kind.MATCH:
            # Every singer reads the turns of one side and the joint line.
            turns = max(2, short - 1)
            return Load(pieces=turns + 1, measures=_SHORT, minutes=3 + _A_TURN * turns)
        case _:
            minutes = _CARD_MINUTES + _EXTRA.get(kind, 0)
            return Load(pieces=1, measures=card_measures, minutes=minutes)


def propose(
    days: Sequence[date],
    *,
    before: Sequence[tuple[date, Kind]],
    kept: Mapping[date, Kind],
    used: Mapping[Kind, date],
    offered: Collection[Kind],
    card_measures: int,
) -> tuple[PlanDay, ...]:
    """The plan of meeting days in order.

    `before` are the meeting days before them, the latest last; `used` says when each kind was read
    last, before the first of the days. What is kept for a day is taken; the others are proposed
    around it.
    """
    row: list[tuple[date, Kind]] = list(before)
    last = dict(used)
    plan = []
    for number, on in enumerate(days):
        ahead = days[number + 1 : number + WINDOW]
        if on in kept:
            kind, why, weeks = kept[on], Why.KEPT, 0
        else:
            room = _room(on, row, ahead, kept)
            kind, why, weeks = _choose(on, room, last, offered)
        plan.append(
            PlanDay(on=on, kind=kind, load=load_of(kind, card_measures), why=why, weeks=weeks)
        )
        row.append((on, kind))
        if kind is not Kind.CARD:
            last[kind] = on
    return tuple(plan)


def day_over(on: date, kind: Kind, card_measures: int) -> PlanDay:
    """A day that lies behind, with what it read."""
    return PlanDay(on=on, kind=kind, load=load_of(kind, card_measures), why=Why.OVER)


def check_plan(days: Sequence[tuple[date, Kind]]) -> None:
    """Refused("plan.too_many") where five meeting days in a row have three playful ones."""
    for start in range(len(days)):
        window = days[start : start + WINDOW]
        playful = [on for on, kind in window if kind is not Kind.CARD]
        if len(playful) > MOST_PLAYFUL:
            raise Refused("plan.too_many", first=playful[0], last=playful[-1], most=MOST_PLAYFUL)


def _room(
    on: date, row: Sequence[tuple[date, Kind]], ahead: Sequence[date], kept: Mapping[date, Kind]
) -> Why | None:
    """Why a day is a card day; None where it may be playful."""
    yesterday = row[-1] if row else None
    tomorrow = kept.get(ahead[0], Kind.CARD) if ahead else Kind.CARD
    if (yesterday and yesterday[1] is not Kind.CARD) or tomorrow is not Kind.CARD:
        return Why.BETWEEN
    around = [
        *row[-(WINDOW - 1) :],
        (on, Kind.MATCH),
        *((day, kept.get(day, Kind.CARD)) for day in ahead),
    ]
    for start in range(len(around)):
        window = around[start : start + WINDOW]
        if (on, Kind.MATCH) in window and sum(_playful(window)) > MOST_PLAYFUL:
            return Why.SHARE
    if yesterday is None or yesterday[0].isocalendar()[:2] != on.isocalendar()[:2]:
        # A choir that meets but once a week has no other day for it.
        once = not ahead or ahead[0].isocalendar()[:2] != on.isocalendar()[:2]
        if not once:
            return Why.BEGINS
    return None


def _playful(days: Sequence[tuple[date, Kind]]) -> Iterator[bool]:
    return (kind is not Kind.CARD for _, kind in days)


def _choose(
    on: date, room: Why | None, last: Mapping[Kind, date], offered: Collection[Kind]
) -> tuple[Kind, Why, int]:
    kinds = [kind for kind in PLAYFUL if kind in offered]
    if room is not None or not kinds:
        return Kind.CARD, room or Why.NONE_ELSE, 0
    kind = min(kinds, key=lambda each: last.get(each, date.min))
    if kind not in last:
        return kind, Why.NEW, 0
    return kind, Why.UNUSED, (on - last[kind]).days // 7
