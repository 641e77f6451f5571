"""What a match offers at each moment, and what a change in it is worth telling. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import assert_never

from bot.activities.match import throwers
from bot.activities.match_call import Call, Say
from bot.activities.match_rules import Side
from bot.activities.match_state import Match, Stop


class Cue(StrEnum):
    """Things told once, when they happen."""

    BATON = "baton"  # it is a side's turn now
    JOINT = "joint"  # both sides read now
    CLOCK = "clock"  # so many seconds to study
    READ = "read"  # the side reads
    POINTS = "points"  # a side has so many more
    CLAIM = "claim"  # a slip was claimed; the number is 100 times the measure plus the beat
    GROUPS = "groups"  # so many groups throw
    REMINDER = "reminder"
    REST = "rest"
    GO_ON = "go-on"
    LAST = "last"  # this pair of turns is the last
    DONE = "done"
    TAKEN_BACK = "taken-back"


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One thing to tell; `side` None where it concerns both."""

    cue: Cue
    side: Side | None = None
    number: int = 0


def announce(before: Match, after: Match) -> tuple[Told, ...]:
    """What one call asks to be told, in order; nothing for a state that is merely read again."""
    if after.calls == before.calls:
        return ()
    if after.calls < before.calls:
        return (Told(cue=Cue.TAKEN_BACK, side=after.side),)
    told = [
        Told(cue=Cue.POINTS, side=side, number=more)
        for side in Side
        if (more := after.score(side) - before.score(side))
    ]
    if after.reminded and after.pairs == before.pairs and _still(before, after):
        told.append(Told(cue=Cue.REMINDER))
    if after.resting is not before.resting:
        told.append(Told(cue=Cue.REST if after.resting else Cue.GO_ON))
    if after.pairs < before.pairs:
        told.append(Told(cue=Cue.LAST))
    if (after.turn, after.stop) != (before.turn, before.stop):
        told += _reached(after)
    return tuple(told)


def _still(before: Match, after: Match) -> bool:
    """Whether nothing went on: a reminder, the first or another one."""
    same = (before.turn, before.stop, before.verdicts, before.resting)
    return same == (after.turn, after.stop, after.verdicts, after.resting)


def _reached(match: Match) -> list[Told]:
    side = match.side
    match match.stop:
        case Stop.READY:
            return [Told(cue=Cue.JOINT if side is None else Cue.BATON, side=side)]
        case Stop.STUDY:
            return [Told(cue=Cue.CLOCK, side=side, number=seconds(match))]
        case Stop.READING:
            return [Told(cue=Cue.READ, side=side)]
        case Stop.CLAIM:
            measure, beat = match.place
            return [Told(cue=Cue.CLAIM, side=side and side.other, number=100 * measure + beat)]
        case Stop.TOSS:
            return [Told(cue=Cue.GROUPS, side=side, number=sum(match.throwing))]
        case Stop.DONE:
            return [Told(cue=Cue.DONE)]
        case Stop.LISTEN | Stop.MEASURE | Stop.BEAT | Stop.ANSWER:
            return []
    assert_never(match.stop)


def seconds(match: Match) -> int:
    """Time to study the line that is read; that of the nearest length where the house has none."""
    study, measures = match.setup.rules.study, match.shape.measures
    return study[min(study, key=lambda length: abs(length - measures))]


def offers(match: Match) -> tuple[Call, ...]:
    """The calls that the moment asks for, the likeliest first."""
    if match.resting:
        return (Call(say=Say.REST),)
    match match.stop:
        case Stop.READY:
            return (Call(say=Say.STUDY),)
        case Stop.STUDY:
            return (Call(say=Say.READ),)
        case Stop.READING:
            return tuple(Call(say=Say.PHRASE, number=verdict) for verdict in (2, 1, 0))
        case Stop.LISTEN:
            return (Call(say=Say.ON), Call(say=Say.CLAIM))
        case Stop.MEASURE:
            return _numbers(Say.MEASURE, range(1, match.shape.measures + 1))
        case Stop.BEAT:
            return _numbers(Say.BEAT, range(1, match.shape.beats + 1))
        case Stop.CLAIM:
            return (Call(say=Say.RIGHT), Call(say=Say.WRONG))
        case Stop.ANSWER:
            return (Call(say=Say.ANSWER, number=1), Call(say=Say.ANSWER, number=0))
        case Stop.TOSS:
            most = min(throwers(match), match.setup.rules.throws)
            return _numbers(Say.THROWN, range(most + 1))
        case Stop.DONE:
            return ()
    assert_never(match.stop)


def asides(match: Match) -> tuple[Call, ...]:
    """What may be called beside the course of the match, at any moment that allows it."""
    found = []
    if match.stop is not Stop.DONE and not match.resting:
        found.append(Call(say=Say.REMIND))
        if match.reminded:
            found.append(Call(say=Say.REST))
        if not match.joint and match.turn // 2 + 1 < match.pairs:
            found.append(Call(say=Say.LAST))
    if match.calls:
        found.append(Call(say=Say.UNDO))
    return tuple(found)


def _numbers(say: Say, numbers: range) -> tuple[Call, ...]:
    return tuple(Call(say=say, number=number) for number in numbers)
