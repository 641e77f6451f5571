"""The rules of a match as a form: read with every fault beside its field, written back whole."""

from dataclasses import replace

import pytest

from bot.activities.match_rules import CardWhen, Ending, Rules, Stand
from bot.errors import InputProblems
from bot.service.match_rules_form import FIELDS, read_rules, rules_fields
from tests.fakes.world import content

SAY = content().wording
HOUSE = Rules(
    turns=6,
    study={4: 25},
    phrases=4,
    read=3,
    nearly=2,
    good=7,
    group=(2, 5),
    throws=5,
    claims=2,
    claim=3,
    stand=Stand.TOGETHER,
    ending=Ending.LAST_TURN,
    card=CardWhen.TURNS,
    left="Window",
    right="Door",
)


def faults_of(**typed):
    form = rules_fields(Rules()) | {name: [text] for name, text in typed.items()}
    with pytest.raises(InputProblems) as caught:
        read_rules(form, SAY, Rules())
    return {fault.place: fault.problem for fault in caught.value.faults}


@pytest.mark.parametrize("rules", [Rules(), HOUSE])
def test_a_form_says_every_rule_and_is_read_back_as_it_was(rules):
    form = rules_fields(rules)
    assert set(form) == set(FIELDS)
    assert read_rules(form, SAY, Rules(turns=9, left="Other")) == rules


def test_what_is_left_empty_is_as_usual_and_an_empty_time_is_not_offered():
    assert read_rules({"study_8": ["30"], "left": [" "]}, SAY, HOUSE) == replace(
        HOUSE, study={8: 30}
    )


def test_all_faults_are_told_at_once_each_by_its_field():
    found = faults_of(
        turns="13",
        study_4="3",
        study_8="soon",
        phrases="0",
        claims="-1",
        left="x" * 17,
        card="shout",
    )
    assert set(found) == {"turns", "study_4", "study_8", "phrases", "claims", "left", "card"}
    assert found["turns"] == SAY("choir.fault.whole", least=1, most=12)


@pytest.mark.parametrize(
    ("typed", "place"),
    [
        ({"throws": "4"}, "throws"),
        ({"good": "5"}, "good"),
        ({"nearly": "3"}, "nearly"),
        ({"phrases": "5"}, "phrases"),
        ({"group_least": "5"}, "group_least"),
        ({"right": "Left page"}, "right"),
        ({"study_4": "", "study_8": ""}, "study_4"),
    ],
)
def test_rules_that_do_not_go_together_are_told_at_the_one_to_change(typed, place):
    assert list(faults_of(**typed)) == [place]


def test_what_hangs_on_a_faulty_field_is_not_guessed_at():
    # With two points for a phrase four throws would be too many; but the points are not known yet.
    assert list(faults_of(read="two", throws="4", good="9", nearly="5")) == ["read"]
