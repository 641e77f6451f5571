"""Matches to play with: setups, journals in short texts, games that hypothesis plays."""

from dataclasses import replace

from hypothesis import strategies as st

from bot.activities.match import apply, begin, replay
from bot.activities.match_board import asides, offers
from bot.activities.match_call import Call, Say
from bot.activities.match_rules import Ending, Rules
from bot.activities.match_sides import Heads, draw_sides
from bot.activities.match_state import LineShape, Setup


def a_setup(*, turns=2, heads=(7, 5), seed=1, **changes):
    rules = replace(Rules(), turns=turns, **changes)
    sides = draw_sides(
        [Heads(label=f"Part {n}", count=c) for n, c in enumerate(heads)], rules, seed
    )
    lines = tuple(LineShape(measures=4, beats=4) for _ in range(2 * turns + 1))
    return Setup(rules=rules, sides=sides, turns=turns, lines=lines)


def calls(*texts):
    return [Call.parse(text) for text in texts]


GOOD = ("study", "read", "phrase-2", "phrase-1", "on")
PLAIN = ("study", "read", "phrase-1", "phrase-0", "on")

setups = st.builds(
    a_setup,
    turns=st.integers(1, 5),
    heads=st.lists(st.integers(2, 19), min_size=1, max_size=3).map(tuple),
    seed=st.integers(0, 99),
    claims=st.integers(0, 2),
    ending=st.sampled_from(Ending),
)


@st.composite
def played(draw, *, to_the_end=False):
    """A setup with a journal that the offers of every moment allow, undo among them."""
    setup = draw(setups)
    journal, states = [], [begin(setup)]
    # A match of five turns has some fifty calls; after thirty strange ones it only goes on.
    for number in range(400 if to_the_end else draw(st.integers(0, 50))):
        ahead = offers(states[-1])
        if not ahead:
            break
        beside = () if number > 30 else asides(states[-1])
        journal.append(draw(st.sampled_from((*ahead, *ahead, *ahead, *beside))))
        if journal[-1].say is Say.UNDO:
            states.pop()
        else:
            states.append(apply(states[-1], journal[-1]))
    assert replay(setup, journal) == states[-1]
    return setup, journal, states[-1]


def in_force(journal):
    kept = []
    for call in journal:
        if call.say is Say.UNDO:
            kept.pop()
        else:
            kept.append(call)
    return kept
