"""What can be called in a match: by clicker or from the referee's page. There is no seat in it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

_MOST = 99


class Say(StrEnum):
    """Kinds of calls; some carry a number."""

    STUDY = "study"  # the line is up and the clock goes
    READ = "read"  # the side reads
    PHRASE = "phrase"  # the director's verdict on the next phrase: 2 read, 1 nearly, 0 not yet
    CLAIM = "claim"  # the listening side has heard a slip
    MEASURE = "measure"  # ... in this measure
    BEAT = "beat"  # ... at this beat
    RIGHT = "right"  # there was one: the point is theirs to read for
    WRONG = "wrong"  # there was none
    ANSWER = "answer"  # they read the place: 1 well, 0 not
    ON = "on"  # nothing to claim
    THROWN = "thrown"  # so many throws of the group landed; who waves it on is not counted
    REMIND = "remind"  # a reminder to the room
    REST = "rest"  # the match rests a moment, for both sides alike; once more: it goes on
    LAST = "last"  # the bell is near: this pair of turns is the last
    UNDO = "undo"  # the call before is taken back


_NUMBERED = frozenset({Say.PHRASE, Say.MEASURE, Say.BEAT, Say.ANSWER, Say.THROWN})


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """One call. `number` is 0 where the kind carries none."""

    say: Say
    number: int = 0

    def __str__(self) -> str:
        return f"{self.say}-{self.number}" if self.say in _NUMBERED else self.say.value

    @classmethod
    def parse(cls, text: str) -> Call:
        """Read `phrase-2` or `undo`; ValueError for anything else."""
        name, dash, number = text.partition("-")
        say = Say(name)
        if (say in _NUMBERED) is not bool(dash):
            raise ValueError(f"{text!r}: a number belongs to some calls and not to others")
        if dash and not (number.isascii() and number.isdecimal() and int(number) <= _MOST):
            raise ValueError(f"{text!r}: the number is 0 to {_MOST}")
        return cls(say=say, number=int(number) if dash else 0)
