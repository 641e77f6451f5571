"""Cards are made once as long as their reading and their choir are what they were."""

from dataclasses import replace
from pathlib import Path

import pytest

from bot.activities.choir import Presentation
from bot.service import cards
from bot.service.cards import Cards, card_of
from bot.service.content import load_content
from tests.fakes.choirs import MONDAY, a_choir, a_reading, an_exercise

SAY = load_content([Path(__file__).parents[2] / "content"]).wording


def test_a_card_is_the_same_until_anything_of_it_is_another():
    made, choir, reading = Cards(SAY), a_choir(), a_reading()
    first = made.of(reading, choir)
    assert first == card_of(reading, choir, SAY)
    assert made.of(replace(reading), replace(choir)) is first

    quicker = replace(choir, presentation=Presentation(tempo_bpm=100))
    assert made.of(reading, quicker).tempo_bpm == 100
    other = replace(reading, exercise=an_exercise(4, 3, 2, 1, 0, 1))
    assert made.of(other, quicker) == card_of(other, quicker, SAY)
    assert made.of(reading, choir) == first


def test_only_the_latest_cards_are_remembered(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(cards, "_KEPT", 2)
    made, choir = Cards(SAY), a_choir()
    one, two, three = (a_reading(f"reading-{n}", on=MONDAY) for n in range(3))
    first = made.of(one, choir)
    second = made.of(two, choir)
    assert made.of(one, choir) is first
    made.of(three, choir)
    assert made.of(one, choir) is first
    assert made.of(two, choir) is not second
