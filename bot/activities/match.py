"""The match: two sides read in turn, the director judges, the other side listens, groups throw.

    ready - study - reading - listen - (measure - beat - claim - answer) - toss - ready ... done

Pure, over a journal of calls that knows sides and groups and no singer. `apply` gives the next
state or refuses, `replay` folds a journal (an undo takes the call before it back), `announce` says
what a change is worth telling. Points are only ever added; nothing a child does takes one away.

Both sides have equally many turns, by turns. A group throws after a good reading; groups go in
order, and where readings were not good more than one group throws in a turn, so that each has
thrown as often as any other when the match ends. What is owed by then is thrown for both sides.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import assert_never

from bot.activities.match_call import Call, Say
from bot.activities.match_rules import Ending, Side
from bot.activities.match_state import Gain, Match, Setup, Source, Stop
from bot.errors import Refused


def begin(setup: Setup) -> Match:
    """A match before its first turn."""
    return Match(setup=setup, pairs=setup.turns)


def replay(setup: Setup, calls: Iterable[Call]) -> Match:
    """The state after a journal; Refused as `apply` does."""
    states = [begin(setup)]
    for call in calls:
        if call.say is Say.UNDO:
            if len(states) == 1:
                raise Refused("match.nothing")
            states.pop()
        else:
            states.append(apply(states[-1], call))
    return states[-1]


def apply(match: Match, call: Call) -> Match:
    """The state after a call; Refused("match.not_now") where it does not belong.

    Refused("match.remind_first") for a rest before a reminder. An undo is for `replay`.
    """
    after = _resting(match, call) if match.resting else _called(match, call)
    return replace(after, calls=match.calls + 1)


def groups_throwing(match: Match, side: Side) -> tuple[int, ...]:
    """The groups of a side that throw now, numbered from 1, in order."""
    at = list(Side).index(side)
    groups, first = match.setup.sides.groups, match.thrown[at]
    return tuple((first + n) % groups + 1 for n in range(match.throwing[at]))


def next_group(match: Match, side: Side) -> int:
    """The group of a side that throws next, or now, numbered from 1."""
    return match.thrown[list(Side).index(side)] % match.setup.sides.groups + 1


def groups_owed(match: Match, side: Side) -> int:
    """How many groups of a side have yet to throw until the end."""
    return _target(match) - match.thrown[list(Side).index(side)]


def throwers(match: Match) -> int:
    """How many singers are in the groups that throw now."""
    sizes = {side: match.setup.sides.group_sizes(side) for side in Side}
    return sum(sizes[side][group - 1] for side in Side for group in groups_throwing(match, side))


def _resting(match: Match, call: Call) -> Match:
    if call.say is Say.REST:
        return replace(match, resting=False)
    raise Refused("match.not_now")


def _called(match: Match, call: Call) -> Match:
    if match.stop is Stop.DONE:
        raise Refused("match.not_now")
    match call.say:
        case Say.REMIND:
            return replace(match, reminded=True)
        case Say.REST if match.reminded:
            # One rest for one reminder: the next one is reminded of anew.
            return replace(match, resting=True, reminded=False)
        case Say.REST:
            raise Refused("match.remind_first")
        case Say.LAST if not match.joint and match.turn // 2 + 1 < match.pairs:
            return replace(match, pairs=match.turn // 2 + 1)
        case Say.STUDY if match.stop is Stop.READY:
            return replace(match, stop=Stop.STUDY)
        case Say.READ if match.stop is Stop.STUDY:
            return replace(match, stop=Stop.READING)
        case Say.PHRASE if match.stop is Stop.READING and call.number < 3:
            return _judged(match, call.number)
        case Say.THROWN if match.stop is Stop.TOSS and call.number <= throwers(match):
            return _thrown(match, call.number)
        case Say.ON if match.stop is Stop.LISTEN:
            return _after_listening(match)
        case Say.CLAIM if match.stop is Stop.LISTEN:
            return replace(match, stop=Stop.MEASURE, claims=match.claims + 1, place=(0, 0))
        case Say.MEASURE | Say.BEAT | Say.RIGHT | Say.WRONG | Say.ANSWER:
            return _claiming(match, call)
        case Say.LAST | Say.STUDY | Say.READ | Say.PHRASE | Say.THROWN | Say.ON | Say.CLAIM:
            raise Refused("match.not_now")
        case Say.UNDO:
            raise Refused("match.not_now")
    assert_never(call.say)


def _judged(match: Match, verdict: int) -> Match:
    points = match.setup.rules.points[verdict]
    after = _gain(match, points, Source.READING)
    after = replace(after, verdicts=(*match.verdicts, verdict))
    if len(after.verdicts) < match.setup.rules.phrases:
        return after
    if match.joint:
        return _close(after)
    return _listen(after)


def _listen(match: Match) -> Match:
    if match.claims < match.setup.rules.claims:
        return replace(match, stop=Stop.LISTEN)
    return _after_listening(match)


def _claiming(match: Match, call: Call) -> Match:
    stop, number, shape = match.stop, call.number, match.shape
    match call.say:
        case Say.MEASURE if stop is Stop.MEASURE and 1 <= number <= shape.measures:
            return replace(match, stop=Stop.BEAT, place=(number, 0))
        case Say.BEAT if stop is Stop.BEAT and 1 <= number <= shape.beats:
            return replace(match, stop=Stop.CLAIM, place=(match.place[0], number))
        case Say.RIGHT if stop is Stop.CLAIM:
            return replace(match, stop=Stop.ANSWER)
        case Say.WRONG if stop is Stop.CLAIM:
            return _listen(match)
        case Say.ANSWER if stop is Stop.ANSWER and number < 2:
            side = match.side
            assert side is not None, "claims are made in a turn of one side"
            gain = Gain(side=side.other, points=match.setup.rules.claim, source=Source.CLAIM)
            won = replace(match, gains=(*match.gains, gain)) if number else match
            return _listen(won)
    raise Refused("match.not_now")


def _after_listening(match: Match) -> Match:
    due = _groups_due(match)
    if not (match.good and due):
        return _next_turn(match)
    left = match.side is Side.LEFT
    return replace(match, stop=Stop.TOSS, throwing=(due, 0) if left else (0, due))


def _thrown(match: Match, landed: int) -> Match:
    """Throws that landed; of one turn only so many count."""
    after = _gain(match, min(landed, match.setup.rules.throws), Source.THROW)
    thrown = (match.thrown[0] + match.throwing[0], match.thrown[1] + match.throwing[1])
    after = replace(after, thrown=thrown, throwing=(0, 0))
    return replace(after, stop=Stop.DONE) if match.joint else _next_turn(after)


def _gain(match: Match, points: int, source: Source) -> Match:
    """Points for the side whose turn it is; for both where both read."""
    sides = tuple(Side) if match.side is None else (match.side,)
    gains = tuple(Gain(side=side, points=points, source=source) for side in sides if points)
    return replace(match, gains=(*match.gains, *gains))


def _next_turn(match: Match) -> Match:
    after = replace(
        match, turn=match.turn + 1, stop=Stop.READY, verdicts=(), claims=0, place=(0, 0)
    )
    if after.joint and match.setup.rules.ending is Ending.LAST_TURN:
        return _close(after)
    return after


def _close(match: Match) -> Match:
    """The end, once every group has thrown as often as any other."""
    owed = (groups_owed(match, Side.LEFT), groups_owed(match, Side.RIGHT))
    if any(owed):
        return replace(match, stop=Stop.TOSS, throwing=owed)
    return replace(match, stop=Stop.DONE)


def _groups_due(match: Match) -> int:
    """How many groups of the side throw after this reading, if it was good."""
    side = match.side
    assert side is not None, "only a turn of one side is asked about"
    return -(-groups_owed(match, side) // match.turns_left(side))


def _target(match: Match) -> int:
    """Throws of groups that each side has made when the match ends: a whole round or more."""
    groups = match.setup.sides.groups
    if match.pairs == match.setup.turns:
        return groups * max(1, match.pairs // groups)
    return groups * max(1, -(-max(match.thrown) // groups))
