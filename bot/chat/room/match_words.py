"""A match in words and plain values, for the board on the stage and the referee's page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from bot.activities.match import groups_owed, groups_throwing, next_group
from bot.activities.match_board import Cue, Told, asides, offers, seconds
from bot.activities.match_call import Call, Say
from bot.activities.match_rules import Side
from bot.activities.match_sides import PartSplit
from bot.activities.match_state import Match, Stop
from bot.service.match_score import score_line
from bot.service.match_values import MatchSum, Played
from bot.wording import Wording

# Stops with the line in sight; before them nothing is shown, after them nothing has to be.
_LINE_IN_SIGHT = frozenset(
    {Stop.STUDY, Stop.READING, Stop.LISTEN, Stop.MEASURE, Stop.BEAT, Stop.CLAIM, Stop.ANSWER}
)
_CALLS: Mapping[str, str] = {
    "study": "match.call.study",
    "read": "match.call.read",
    "phrase-2": "match.call.phrase_2",
    "phrase-1": "match.call.phrase_1",
    "phrase-0": "match.call.phrase_0",
    "claim": "match.call.claim",
    "right": "match.call.right",
    "wrong": "match.call.wrong",
    "answer-1": "match.call.answer_1",
    "answer-0": "match.call.answer_0",
    "on": "match.call.on",
    "thrown-0": "match.call.thrown_0",
    "remind": "match.call.remind",
    "last": "match.call.last",
    "undo": "match.call.undo",
}
_KEYS: Mapping[Say, str] = {
    Say.CLAIM: "c",
    Say.RIGHT: "1",
    Say.WRONG: "0",
    Say.REMIND: "m",
    Say.REST: "p",
    Say.LAST: "l",
}
_BY_NUMBER = frozenset({Say.PHRASE, Say.MEASURE, Say.BEAT, Say.ANSWER, Say.THROWN})


def board_of(played: Played, told: tuple[Told, ...], say: Wording) -> dict[str, Any]:
    """All that a page shows of a match; the same for everybody who looks at it."""
    match = played.match
    return {
        "revision": played.revision,
        "stop": match.stop.value,
        "resting": match.resting,
        "side": None if match.side is None else match.side.value,
        "heading": _heading(match, say),
        "hint": _hint(match, say),
        "told": [{"cue": each.cue.value, "words": _told(match, each, say)} for each in told],
        "pages": {side.value: _page(match, side, say) for side in Side},
        "reading": played.reading_id,
        "inSight": match.stop in _LINE_IN_SIGHT,
        "seconds": seconds(match) if match.stop is Stop.STUDY else None,
        "place": list(match.place),
        "offers": [_call(call, match, say) for call in offers(match)],
        "asides": [_call(call, match, say) for call in asides(match) if call.say is not Say.UNDO],
        "undo": match.calls > 0,
    }


def score_words(score: MatchSum, say: Wording) -> str:
    """Today's match in a sentence, for the class's board."""
    return say("match.card.today", score=score_line(score, say))


def part_name(part: PartSplit, say: Wording) -> str:
    """A part as it is called out, with its row where it stands in several."""
    return say("match.part_row", part=part.label, row=part.row) if part.row else part.label


def numbers(given: Sequence[int]) -> str:
    """Numbers as they are called out, three and more running ones as a stretch: `1, 4-7`."""
    runs: list[list[int]] = []
    for number in given:
        if runs and runs[-1][-1] + 1 == number:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(
        f"{run[0]}\u2013{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs
    )


def _page(match: Match, side: Side, say: Wording) -> dict[str, Any]:
    group = say("match.group", group=next_group(match, side)) if groups_owed(match, side) else ""
    left = "" if match.joint else say("match.turns_left", count=match.turns_left(side))
    return {
        "name": match.setup.rules.name(side),
        "score": match.score(side),
        "group": group,
        "turns": left,
        "draw": _draw(match, side, say) if _drawn(match) else [],
    }


def _drawn(match: Match) -> bool:
    """Whether nothing was called yet: the room counts off and goes to its pages."""
    return match.calls == 0


def _draw(match: Match, side: Side, say: Wording) -> list[str]:
    """What is called out for a side: of every part the numbers that stand on it."""
    return [
        say("match.draw", part=part_name(part, say), numbers=numbers(found))
        for part in match.setup.sides.parts
        if (found := part.left if side is Side.LEFT else part.right)
    ]


def _call(call: Call, match: Match, say: Wording) -> dict[str, str]:
    return {"call": str(call), "label": _label(call, match, say), "key": _key(call)}


def _key(call: Call) -> str:
    return str(call.number) if call.say in _BY_NUMBER else _KEYS.get(call.say, "")


def _label(call: Call, match: Match, say: Wording) -> str:
    if str(call) in _CALLS:
        return say(_CALLS[str(call)])
    if call.say is Say.REST:
        return say("match.call.go_on") if match.resting else say("match.call.rest")
    if call.say is Say.THROWN:
        return say("match.call.thrown", count=call.number)
    return str(call.number)


def _names(match: Match) -> dict[str, Any]:
    """The gaps that sentences about a match may have."""
    rules, side = match.setup.rules, match.side
    groups = [str(group) for each in Side for group in groups_throwing(match, each)]
    return {
        "side": "" if side is None else rules.name(side),
        "other": "" if side is None else rules.name(side.other),
        "measure": match.place[0],
        "beat": match.place[1],
        "groups": ", ".join(groups),
        "count": len(groups),
        "phrase": len(match.verdicts) + 1,
        "phrases": rules.phrases,
        "left": rules.left,
        "right": rules.right,
        "left_points": match.score(Side.LEFT),
        "right_points": match.score(Side.RIGHT),
    }


# Stops whose heading is another one where both sides are meant.
TOGETHER = frozenset({Stop.READY, Stop.STUDY, Stop.READING, Stop.TOSS})


def _heading(match: Match, say: Wording) -> str:
    if match.resting:
        return say("match.heading.resting")
    if _drawn(match):
        return say("match.heading.draw")
    if match.joint and match.stop in TOGETHER:
        return say(f"match.heading.{match.stop}_joint", **_names(match))
    return say(f"match.heading.{match.stop}", **_names(match))


def _hint(match: Match, say: Wording) -> str:
    if match.resting:
        return say("match.hint.resting")
    if _drawn(match):
        return say("match.hint.draw", **_names(match))
    if match.joint and match.stop is Stop.TOSS:
        return say("match.hint.toss_joint")
    return say(f"match.hint.{match.stop}", **_names(match))


def _told(match: Match, told: Told, say: Wording) -> str:
    rules = match.setup.rules
    side = say("match.both") if told.side is None else rules.name(told.side)
    match told.cue:
        case Cue.POINTS:
            return say("match.told.points", count=told.number, side=side)
        case Cue.CLAIM:
            measure, beat = divmod(told.number, 100)
            return say("match.told.claim", side=side, measure=measure, beat=beat)
        case Cue.BATON:
            return say("match.told.baton", side=side)
        case Cue.CLOCK:
            return say("match.told.clock", side=side)
        case Cue.READ:
            return say("match.told.read", side=side)
        case Cue.GO_ON:
            return say("match.told.go_on")
        case Cue.TAKEN_BACK:
            return say("match.told.taken_back")
        case Cue.JOINT:
            return say("match.told.joint")
        case Cue.GROUPS:
            return say("match.told.groups")
        case Cue.REMINDER:
            return say("match.told.reminder")
        case Cue.REST:
            return say("match.told.rest")
        case Cue.LAST:
            return say("match.told.last")
        case Cue.DONE:
            return say("match.told.done")
