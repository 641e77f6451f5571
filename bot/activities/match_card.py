"""When the score of a match goes up as a card, and when what it says is to be changed. Pure."""

from __future__ import annotations

from bot.activities.match_rules import CardWhen, Side
from bot.activities.match_state import Match, Stop

_ENDED = "ended"


def told_by(match: Match) -> str:
    """What a card of this moment says, in short: two moments that say the same are equal."""
    score = " ".join(str(match.score(side)) for side in Side)
    return f"{_ENDED if match.stop is Stop.DONE else match.turn} {score}"


def goes_up(match: Match) -> bool:
    """Whether the house wants the score up by now: at the end, or after a turn too."""
    match match.setup.rules.card:
        case CardWhen.NEVER:
            return False
        case CardWhen.END:
            return match.stop is Stop.DONE
        case CardWhen.TURNS:
            return match.stop is Stop.DONE or (match.stop is Stop.READY and match.turn > 0)


def changes(match: Match, told: str | None) -> bool:
    """Whether a card that is up, and said `told` last, has to say something else now.

    It follows the match from turn to turn at most. An end that was taken back is no end: the card
    then says at once that the match goes on.
    """
    if told == told_by(match):
        return False
    if told is None or told.startswith(_ENDED):
        return True
    return goes_up(match)
