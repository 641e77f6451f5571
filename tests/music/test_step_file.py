"""Sequence files: what is wrong is named, all at once, each with its line."""

import pytest

from bot.errors import InputProblems
from bot.music.sequence import Climax, Track
from bot.music.step_file import parse_sequence
from tests.music.levels import FILE, steps_first

_TEXT = FILE.read_text(encoding="utf-8")
_SMALL = """
id = "small"
title = "Small"
version = 1

[keys]
treble = "F G"
low = "Bb"
mixed = "C"

[metres]
"4/4" = 1

[rules]
equal_notes = 3
same_cell = 9
colours = 2

[[line]]
from = "p01"
start = ["do"]
end = "do"
cadence = ["re"]
half_cadence = ["re"]
measures = { 4 = 1 }

[[form]]
from = "p01"
letters = "abcd"
weight = 1

[[cell]]
notes = "q"
beats = { "4/4" = [1, 2, 3, 4] }

[[cell]]
notes = "h"
beats = { "4/4" = [1, 3] }

[[cell]]
notes = "q. e"
beats = { "4/4" = [1, 3] }

[[step]]
id = "p01"
track = "pitch"
name = "do re mi"
adds = { tones = ["do", "re", "mi"] }

[[step]]
id = "p02"
track = "pitch"
name = "so"
adds = { tone = "so", by = "mi-so" }

[[step]]
id = "r01"
track = "rhythm"
name = "quarters"
adds = { cells = ["q", "h"], metre = "4/4" }

[[step]]
id = "v01"
track = "voice"
name = "unison"
adds = { texture = "unison" }
"""


def _problems(text: str) -> list[str]:
    with pytest.raises(InputProblems) as problems:
        parse_sequence(text, "small.toml")
    return [str(fault) for fault in problems.value.faults]


def _line(text: str) -> int:
    return _SMALL.splitlines().index(text) + 1


def test_one_high_point_is_asked_for_from_a_step_on_until_another_says_otherwise():
    more = '\n[[line]]\nfrom = "p02"\nclimax = "once"\n\n[[form]]\nfrom = "p01"\nletters = "abcd"'
    text = _SMALL.replace('\n[[form]]\nfrom = "p01"\nletters = "abcd"', more)
    kept = parse_sequence(text, "small.toml").conditions
    assert [(start, each.climax.value) for start, each in kept] == [("p01", "any"), ("p02", "once")]
    assert kept[1][1].start == kept[0][1].start
    again = [each for _, each in steps_first().conditions if each.climax is Climax.ONCE]
    assert len(again) == 1


def test_the_small_file_is_right():
    sequence = parse_sequence(_SMALL, "small.toml")
    assert [step.id for step in sequence.steps] == ["p01", "p02", "r01", "v01"]
    assert [step.focus for step in sequence.track(Track.PITCH)] == [0, 1]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('id = "p02"', 'id = "q02"', "'q02' is no id in the pitch track"),
        ('id = "p02"', 'id = "p01"', "'p01' stands here twice (each id once)"),
        ('track = "voice"', 'track = "voices"', "track is 'voices'"),
        ('name = "so"', 'name = ""', "name is ''"),
        ('name = "so"', 'nome = "so"', "'nome' means nothing here"),
        ('adds = { tone = "so", by = "mi-so" }', "", "adds is missing"),
        ('tone = "so", by = "mi-so"', 'tone = "so"', "no known tone lies a step from so"),
        ('tone = "so", by = "mi-so"', 'tone = "zo"', "'zo' is no tone"),
        ('tone = "so", by = "mi-so"', 'tone = "mi"', "mi is known already"),
        ('tone = "so", by = "mi-so"', 'tone = "so", by = "fa-so"', "fa of fa-so is not known"),
        ('tone = "so", by = "mi-so"', 'tone = "ti,", through = ["la"]', "la is a second new tone"),
        ('tone = "so", by = "mi-so"', 'tone = "fa", skip = "do-mi"', "adds tone, skip"),
        ('tone = "so", by = "mi-so"', 'skip = "do-re"', "do-re is no skip that a line may have"),
        ('tone = "so", by = "mi-so"', 'skip = "mi-do"', "mi-do is no skip that a line may have"),
        ('tone = "so", by = "mi-so"', 'chord = "VI"', "no chord 'VI'"),
        ('tone = "so", by = "mi-so"', 'chord = "V"', "adds no skip between the tones known"),
        ('tone = "so", by = "mi-so"', 'intervals = ["tenth"]', "no interval 'tenth'"),
        ('tone = "so", by = "mi-so"', 'cells = ["q. e"]', "a metre beside cells"),
        ('cells = ["q", "h"], metre = "4/4"', 'cells = ["q", "x"], metre = "4/4"', "no [[cell]]"),
        ('cells = ["q", "h"], metre = "4/4"', 'cells = ["q"], metre = "4/3"', "the lower figure"),
        ('beats = { "4/4" = [1, 3] }', 'beats = { "4/4" = [1, 4] }', "does not fit into 4/4"),
        ('notes = "h"', 'notes = "k"', "'k' is no note value"),
        ('notes = "h"', 'notes = "q"', "the cell 'q' stands here twice"),
        ('letters = "abcd"', 'letters = "abac"', "no form of 4 measures has all letters different"),
        ('letters = "abcd"', 'letters = "abc"', "3 letters"),
        ("weight = 1", "weight = 0", "weight is 0"),
        ("weight = 1", "weight = 1\ncopied = 1", "copied = 1 in 'abcd'"),
        ("measures = { 4 = 1 }", "measures = { 5 = 1 }", "5 = 1"),
        ("end =", 'climax = "twice"\nend =', "climax is 'twice' (one of any, once)"),
        ('end = "do"', 'climax = "once"\nend = "mi"', "no tone above mi is known at p01"),
        ('end = "do"', 'climax = "once"\npeak = "fifth"\nend = "do"', "no tone a fifth above do"),
        ('from = "p01"\nstart', 'from = "p09"\nstart', "no pitch step 'p09'"),
        ('end = "do"\n', "", "end missing"),
        ("equal_notes = 3", "equal_notes = true", "equal_notes is True"),
        ("colours = 2", 'colours = 2\nfrom_sixteenths = "tenth"', "from_sixteenths is 'tenth'"),
        ('name = "so"', 'name = "so"\napart = true', "only cells come apart (leave it out)"),
        ('mixed = "C"', 'mixed = "C H"', "'H' is no pitch name"),
        ("version = 1", "version = 2", "unknown version (this release reads 1)"),
        ("[rules]", "[rule]", "[rules] is missing"),
        (
            'id = "v01"\ntrack = "voice"',
            'id = "r02"\ntrack = "rhythm"',
            "no step in the voice track",
        ),
        ('title = "Small"', "title = ", "no TOML"),
        ('name = "unison"', 'name = "unison"\nrequires = ["p07"]', "no step 'p07'"),
    ],
)
def test_a_fault_is_named(old, new, told):
    assert old in _SMALL
    assert any(told in problem for problem in _problems(_SMALL.replace(old, new)))


@pytest.mark.parametrize(
    ("order", "told"),
    [
        ('pitch = "p02"', "leaves out p01 (name every step of the pitch track once)"),
        ('pitch = "p01 p02 p02"', "twice p02"),
        ('pitch = "p01 p02 p07"', "no step p07"),
        ('pitch = ""', "pitch is ''"),
        ('melody = "p01 p02"', "'melody' means nothing here"),
    ],
)
def test_a_fault_in_the_order_of_steps_is_named(order, told):
    text = _SMALL.replace("[keys]", f"[order]\n{order}\n\n[keys]")
    assert any(told in problem for problem in _problems(text))


def test_steps_come_in_the_order_that_the_file_asks_for():
    more = '[[step]]\nid = "r02"\ntrack = "rhythm"\nname = "dots"\nadds = { cells = ["q. e"] }\n'
    more += '[[step]]\nid = "r03"\ntrack = "rhythm"\nname = "whole"\nadds = { cells = ["w"] }\n'
    cell = '[[cell]]\nnotes = "w"\nbeats = { "4/4" = [1] }\n\n[[step]]\nid = "p01"'
    text = _SMALL.replace('[[step]]\nid = "p01"', cell) + "\n" + more
    assert _rhythm(text) == ["r01", "r02", "r03"]
    text = text.replace("[keys]", '[order]\nrhythm = "r01 r03 r02"\n\n[keys]')
    assert _rhythm(text) == ["r01", "r03", "r02"]


_TURNED = '[[variant]]\nid = "turned"\ntitle = "Turned"\npitch = "p01 p02"\n\n[keys]'


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('"turned"', '"small"', "the id stands here twice"),
        ("p01 p02", "p01 p09", "no step p09"),
        ("title =", "named =", "'named' means nothing here"),
        ('title = "Turned"', "", "title is"),
    ],
)
def test_a_fault_in_a_variant_is_named(old, new, told):
    text = _SMALL.replace("[keys]", _TURNED.replace(old, new))
    assert any(told in problem for problem in _problems(text))


def test_a_fault_of_the_file_is_not_named_again_for_its_variants():
    text = _SMALL.replace("[keys]", _TURNED).replace("equal_notes = 3", "equal_notes = 0")
    assert len(_problems(text)) == 1


def _rhythm(text):
    return [step.id for step in parse_sequence(text, "small.toml").track(Track.RHYTHM)]


@pytest.mark.parametrize(
    ("adds", "told"),
    [
        ('mode = "major"', "major is known already"),
        ('mode = "minor"', "lines of p02 are not in minor"),
        ('mode = "dorian"', "mode is 'dorian'"),
        ('pickup = "q. e"', "a pickup of 'q. e' (one note that is known, such as q)"),
        ('pickup = "x"', "a pickup of 'x'"),
        ('held = ["q. e"]', "held over the bar line 'q. e' (notes that are known)"),
        ("held = []", "no note to hold over the bar line (notes that are known"),
    ],
)
def test_a_fault_in_a_mode_a_pickup_or_a_tie_is_named(adds, told):
    text = _SMALL.replace('adds = { tone = "so", by = "mi-so" }', f"adds = {{ {adds} }}")
    assert any(told in problem for problem in _problems(text))


@pytest.mark.parametrize("notes", ["h~", "rq~ q", "q~ rq"])
def test_a_tie_binds_two_notes_of_a_cell(notes):
    text = _SMALL.replace('notes = "q. e"', f'notes = "{notes}"')
    assert any("tie" in problem for problem in _problems(text))


def test_all_faults_come_at_once_each_with_its_line():
    text = _SMALL.replace('name = "do re mi"', 'name = ""').replace('"F G"', '"F X"')
    text = text.replace("weight = 1", "weight = -1")

    problems = _problems(text)

    assert [problem.split(" ")[0] for problem in problems] == [
        f"small.toml:{_line(line)}:"
        for line in ('treble = "F G"', "weight = 1", 'name = "do re mi"')
    ]


def test_a_fault_in_the_text_itself_has_its_line():
    line = _line('title = "Small"')
    assert _problems(_SMALL.replace('title = "Small"', "title = "))[0].startswith(
        f"small.toml:{line}: no TOML"
    )


@pytest.mark.long
def test_removing_any_line_of_the_shipped_file_never_ends_in_a_crash():
    lines = _TEXT.splitlines()
    refused = 0
    for number, line in enumerate(lines):
        if line.strip() and not line.startswith("#"):
            try:
                parse_sequence("\n".join([*lines[:number], *lines[number + 1 :]]), "cut.toml")
            except InputProblems:
                refused += 1
    assert refused > 100
