"""The score of a match in words, and as a card for surfaces that carry messages."""

from __future__ import annotations

from bot.activities.match_rules import Side
from bot.activities.match_state import Stop
from bot.activities.reading import reading_key
from bot.service.card import ScoreCard
from bot.service.match_lines import SLOT
from bot.service.match_values import MatchSum, Played
from bot.wording import Wording


def sum_of(played: Played) -> MatchSum:
    """A match as the list of a term has it."""
    match = played.match
    return MatchSum(
        id=played.id,
        on=played.on,
        number=played.number,
        ended=match.stop is Stop.DONE,
        left_name=match.setup.rules.left,
        right_name=match.setup.rules.right,
        left=match.score(Side.LEFT),
        right=match.score(Side.RIGHT),
    )


def score_line(score: MatchSum, say: Wording) -> str:
    """How a match stands, in a sentence."""
    words = "match.card.ended" if score.ended else "match.card.going_on"
    return say(
        words,
        left=score.left_name,
        left_points=score.left,
        right=score.right_name,
        right_points=score.right,
    )


def score_title(score: MatchSum, say: Wording) -> str:
    """What stands over a score: the day, and that it is a match."""
    return say("match.card.title", day=say.date(score.on))


def card_slot(number: int) -> str:
    """The slot under which the card of a choir's match is posted once."""
    return f"{SLOT}-{number}"


def is_score(slot: str) -> bool:
    """Whether a delivery's slot is that of a score."""
    return slot.startswith(f"{SLOT}-")


def number_in(slot: str) -> int:
    """The number of the match whose slot this is; ValueError for any other slot."""
    kind, _, number = slot.partition("-")
    if kind != SLOT:
        raise ValueError(slot)
    return int(number)


def card_of_score(played: Played, say: Wording) -> ScoreCard:
    """The card of a match as it stands."""
    score = sum_of(played)
    return ScoreCard(
        key=reading_key(played.choir_id, played.on, card_slot(played.number)),
        choir_id=played.choir_id,
        on=played.on,
        title=score_title(score, say),
        line=score_line(score, say),
        match_id=played.id,
    )
