"""The rules as a file: ours, a house's own over it, and every fault with its line."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.activities.match_rules import CardWhen, Ending, Rules, Side, Stand, breaches
from bot.activities.match_rules_file import parse_rules, write_rules
from bot.errors import InputProblems

OURS = (Path(__file__).parents[2] / "content" / "match" / "rules.toml").read_text(encoding="utf-8")


def faults_of(text):
    with pytest.raises(InputProblems) as caught:
        parse_rules([(OURS, "ours.toml"), (text, "house.toml")])
    return [str(fault) for fault in caught.value.faults]


def test_the_file_that_ships_says_what_the_program_assumes():
    assert parse_rules([(OURS, "ours.toml")]) == Rules()


def test_a_house_changes_only_what_it_names():
    house = 'turns = 3\nstudy = { 4 = 25 }\nending = "last turn"\nleft = "Window"\nclaims = 0\n'
    rules = parse_rules([(OURS, "ours.toml"), (house, "house.toml")])
    assert (rules.turns, dict(rules.study), rules.claims) == (3, {4: 25}, 0)
    assert rules.ending is Ending.LAST_TURN
    assert [rules.name(side) for side in Side] == ["Window", "Right page"]


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ("turn = 3", "house.toml:1: 'turn' means nothing here"),
        ("turns = 0", "house.toml:1: turns is 0"),
        ("turns = 13", "house.toml:1: turns is 13 (12 at most)"),
        ("read = 21", "house.toml:1: read is 21 (20 at most)"),
        ('stand = "by name"', "stand is 'by name'"),
        ("card = true", "card is True"),
        (f'left = "{"x" * 17}"', "at most 16 characters"),
        ("throws = 4", "music outweighs aim"),
        ("good = 5", "no reading could be good"),
        ("nearly = 3", "nearly brings more than read"),
        ("phrases = 6", "more phrases than measures"),
        ("group_least = 5", "is more than group_most"),
        ("study = { 6 = 20 }", "study has 6 = 20"),
        ("study = { 4 = 2 }", "study has 4 = 2"),
        ("study = 20", "study is 20"),
        ('ending = "never"', "ending is 'never'"),
        ('right = "Left page"', "both sides have one name"),
        ("format = 2", "is no format of ours"),
        ("[[study]]\na = 1", "house.toml"),
    ],
)
def test_a_fault_is_told_with_its_place_and_what_would_be_right(line, fault):
    assert any(fault in told for told in faults_of(line))


def test_all_faults_are_told_at_once():
    assert len(faults_of("turns = 0\nclaims = -1\nread = 'two'\n")) == 3


names = st.text(st.characters(codec="utf-8"), min_size=1, max_size=16).filter(str.strip)
houses = st.builds(
    Rules,
    turns=st.integers(1, 12),
    study=st.dictionaries(st.sampled_from([4, 8]), st.integers(5, 600), min_size=1),
    phrases=st.integers(2, 4),
    read=st.integers(10, 20),
    nearly=st.integers(0, 10),
    good=st.integers(1, 20),
    group=st.tuples(st.integers(1, 6), st.integers(6, 12)),
    throws=st.integers(0, 5),
    claims=st.integers(0, 9),
    claim=st.integers(0, 20),
    stand=st.sampled_from(Stand),
    ending=st.sampled_from(Ending),
    card=st.sampled_from(CardWhen),
    left=names,
    right=names,
).filter(lambda rules: not breaches(rules))


@settings(max_examples=40)
@given(houses)
def test_rules_written_into_the_documented_file_are_read_back_as_they_were(rules):
    written = write_rules(rules, OURS)
    assert parse_rules([(written, "written.toml")]) == rules
    # The words that explain every line are all still there.
    assert [line for line in written.splitlines() if line.startswith("#")] == [
        line for line in OURS.splitlines() if line.startswith("#")
    ]
