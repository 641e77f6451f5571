"""Every sentence has its place and every place its sentence."""

from collections.abc import Callable, Mapping

import pytest

from bot.activities.choir import Hearing
from bot.activities.match_rules import Breach, CardWhen, Ending, Stand
from bot.activities.match_state import Stop as MatchStop
from bot.activities.pacing import Because, Move
from bot.activities.practice import Mark
from bot.activities.rotation import Kind as PlanKind
from bot.activities.rotation import Why as PlanWhy
from bot.activities.routine import Choice, Stop
from bot.activities.sign import SIGNS
from bot.activities.story import Way as SingingWay
from bot.activities.taps import Went
from bot.activities.vote import Margin
from bot.activities.way import Way
from bot.chat.room.match_words import TOGETHER
from bot.chat.room.notices import kept_tables
from bot.music.letters import Dialect
from bot.music.page_options import Under
from bot.music.rhythm_names import RhythmNames
from bot.music.sequence import Climax, Interval
from bot.music.solfa import Naming
from bot.music.step import Track
from bot.music.tonality import KeyPattern
from bot.music.voice import Clef, Voice
from bot.privacy.approval import Approver, Basis, Never, Transport
from bot.privacy.fields import REGISTER
from bot.service.approval_form import SURFACES, Field, offered_activities
from bot.service.approvals import Action, Standing
from bot.service.export import Format
from bot.service.match_rules_form import FIELDS, GROUPS
from bot.service.month import DayMark
from tests.rules import wording
from tests.rules.source import REPOSITORY, plant

# Keys that end with the value of an enum: the beginning, and the ends that it has.
FAMILIES: Mapping[str, tuple[str, ...]] = {
    "telling.margin.": tuple(Margin),
    "telling.way.": tuple(way.name.lower() for way in SingingWay),
    "match.heading.": (*MatchStop, *(f"{stop}_joint" for stop in TOGETHER)),
    "match.hint.": tuple(MatchStop),
    "match.rules.card.": tuple(one.name.lower() for one in CardWhen),
    "match.rules.ending.": tuple(one.name.lower() for one in Ending),
    "match.rules.fault.": tuple(Breach),
    "match.rules.group.": tuple(GROUPS),
    "match.rules.hint.": FIELDS,
    "match.rules.label.": FIELDS,
    "match.rules.stand.": tuple(one.name.lower() for one in Stand),
    "plan.kind.": tuple(PlanKind),
    "plan.why.": tuple(PlanWhy),
    "pace.because.": tuple(Because),
    "pace.move.": tuple(Move),
    "calendar.mark.": tuple(DayMark),
    "approval.activity.": offered_activities(),
    "approval.approver.": tuple(Approver),
    "approval.basis.": tuple(Basis),
    "approval.fault.": tuple(Field),
    "approval.never.": tuple(Never),
    "approval.standing.": tuple(Standing),
    "approval.surface.": SURFACES,
    "approval.transport.": tuple(Transport),
    "audit.": tuple(Action),
    "notice.table.": tuple(kept.table for kept in kept_tables(REGISTER, seats=True)),
    "discord.sign.": tuple(Mark),
    "practice.mark.": tuple(Mark),
    "seat.said.": tuple(Went),
    "sign.": SIGNS,
    "seat.went.": tuple(Went),
    "board.tempo.": ("whole", "half", "quarter", "eighth", "dotted-half", "dotted-quarter"),
    "along.about.": tuple(kind.name.lower() for kind in Format),
    "along.format.": tuple(kind.name.lower() for kind in Format),
    "form.clef.": tuple(Clef),
    "form.naming.": tuple(Naming),
    "form.pattern.": tuple(KeyPattern),
    "form.track.": tuple(Track),
    "form.track_hint.": tuple(Track),
    "form.voice.": tuple(Voice),
    "form.voice_name.": tuple(Voice),
    "look.dialects.": tuple(Dialect),
    "page.rhythm.": tuple(RhythmNames),
    "page.under.": tuple(Under),
    "stage.choice.": tuple(Choice),
    "stage.hearing.": tuple(Hearing),
    "stage.hint.": tuple(Stop),
    "stage.stop.": tuple(Stop),
    "steps.climax.": tuple(Climax),
    "steps.from_sixteenths.": tuple(Interval),
    "steps.peak.": tuple(Interval),
    "tune.hint.": ("ready", "key", "start", "inward", "name"),
    "tune.stop.": ("ready", "key", "start", "inward", "name"),
    "way.hint.": tuple(Way),
    "way.name.": tuple(Way),
}

_Rule = Callable[..., list[str]]
_RULES: list[_Rule] = [wording.unknown_keys, wording.unused_keys, wording.wrong_gaps]

_TEXTS = """
[board]
empty = "Nothing is up yet."
of = "The board of {choir}"
[day]
red = "a red day"
blue = "a blue day"
[left]
days = { one = "one day", other = "{count} days of {choir}" }
"""
_CODE = """
say("board.of", choir=choir.name)
self._say(f"day.{colour}")
raise Refused("board.empty", choir=1)
"""
_TEMPLATE = """{# a note #}
<h1>{{ say("left.days", count=3, choir=choir.name) }}</h1>
<p title="{{ say("board.empty") }}">· {{ say("day." ~ colour) }}</p><script>let a = 1;</script>
"""
_PLAIN = {
    "content/wording/en/all.toml": _TEXTS,
    "bot/chat/board.py": _CODE,
    "bot/chat/templates/board.html": _TEMPLATE,
}
_COLOURS = {"day.": ("red", "blue")}


@pytest.mark.parametrize("rule", _RULES)
def test_the_program_keeps_the_rule(rule):
    assert rule(REPOSITORY, FAMILIES) == []


def test_no_template_holds_a_sentence_of_its_own():
    assert wording.bare_words(REPOSITORY) == []


@pytest.mark.parametrize("rule", _RULES)
def test_a_tree_that_keeps_the_rule_has_no_breach(rule, tmp_path):
    assert rule(plant(tmp_path, _PLAIN), _COLOURS) == []


def test_a_template_without_words_has_no_breach(tmp_path):
    assert wording.bare_words(plant(tmp_path, _PLAIN)) == []


@pytest.mark.parametrize(
    ("rule", "added", "breach"),
    [
        (
            wording.unknown_keys,
            {"bot/a.py": 'say("board.full" if x else "board.empty")\n'},
            "bot/a.py:1: there is no sentence 'board.full'",
        ),
        (
            wording.unknown_keys,
            {"bot/a.html": '<p>{{ say("board.full") }}</p>'},
            "bot/a.html:1: there is no sentence 'board.full'",
        ),
        (
            wording.unknown_keys,
            {"bot/a.html": '<p>{{ say("month." ~ name) }}</p>'},
            "bot/a.html:1: 'month.' is no family in tests/rules",
        ),
        (
            wording.unknown_keys,
            {"content/wording/en/all.toml": _TEXTS.replace("blue =", "green =")},
            "families: there is no sentence 'day.blue'",
        ),
        (
            wording.unused_keys,
            {"content/wording/en/all.toml": _TEXTS.replace("blue =", 'green = ""\nblue =')},
            "wording/en: nothing says 'day.green'",
        ),
        (
            wording.wrong_gaps,
            {"bot/a.py": 'say("board.of", name=1, choir=2)\n'},
            "bot/a.py:1: 'board.of' has no gap name",
        ),
        (
            wording.wrong_gaps,
            {"bot/a.py": 'raise NoExercise("board.of", name=1)\n'},
            "bot/a.py:1: 'board.of' needs choir",
        ),
        (
            wording.wrong_gaps,
            {"bot/a.html": '{{ say("left.days", choir=1) }}'},
            "bot/a.html:1: 'left.days' needs count",
        ),
    ],
)
def test_a_breach_is_found_and_named(rule, added, breach, tmp_path):
    assert rule(plant(tmp_path, {**_PLAIN, **added}), _COLOURS) == [breach]


def test_a_family_that_nothing_asks_for_is_found(tmp_path):
    plant(tmp_path, {"content/wording/en/all.toml": "", "bot/a.py": "x = 1\n"})
    assert wording.unused_keys(tmp_path, _COLOURS) == ["families: nothing asks for 'day.'"]


@pytest.mark.parametrize(
    ("template", "breach"),
    [
        ("<p>Welcome back</p>", "a.html:1: 'Welcome back'"),
        ('<img alt="{{ x }} the music">', "a.html:1: 'alt= the music'"),
        ("<p>\n{% if x %}Up{% endif %}</p>", "a.html:2: 'Up'"),
    ],
)
def test_words_in_a_template_are_found(template, breach, tmp_path):
    breaches = wording.bare_words(plant(tmp_path, {"bot/a.html": template}))
    assert [found.replace("\n", "") for found in breaches] == [breach]
