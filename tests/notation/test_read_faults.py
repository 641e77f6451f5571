"""What a director is told where a file holds what a reading cannot have."""

import pytest

from bot.errors import InputProblems
from bot.notation.read import exercise_from_musicxml
from tests.notation.files import attributes, line, measures, note, notes, score

_TRIPLET = (
    "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
    "</time-modification>"
)
_TIE = '<tie type="start"/>'


def read(data):
    return exercise_from_musicxml(data, "file.musicxml")


def faults(data):
    with pytest.raises(InputProblems) as caught:
        read(data)
    return [f"{fault.place}: {fault.problem}" for fault in caught.value.faults]


def one(*contents, **signature):
    """A file of one part whose measures are given as elements."""
    return score(measures(attributes(**signature) + contents[0], *contents[1:]))


@pytest.mark.parametrize(
    ("second", "fault"),
    [
        (notes("C4") + note("D4", 2, "<chord/>") + notes("E4:6"), "beat 1: a chord"),
        (notes("C4:4") + note("D4", 1, "<grace/>") + notes("E4:4"), "beat 3: a grace note"),
        (notes("C4:6") + note("D4", 2, _TRIPLET), "beat 4: a tuplet"),
        (note("C4", 2, "<cue/>") + notes("E4:6"), "beat 1: a cue or a drum note"),
        (notes("C4:5 E4:3"), "beat 1: a length of 5/8 whole notes"),
        (notes("C4:6"), "beat 4: the measure adds up to 3 quarters"),
        (notes("C4:8 D4:1"), "beat 5: the measure adds up to 4½ quarters"),
        ("", "beat 1: the measure adds up to 0 quarters"),
        (notes("C4:4") + note("D4", 4, _TIE), "beat 3: a tie that leads to no note of the same"),
        ("<barline><ending/></barline>" + notes("C4:8"), "beat 1: a first or second ending"),
        (
            "<attributes><key><fifths>1</fifths></key></attributes>" + notes("C4:8"),
            "beat 1: the key changes",
        ),
        (
            notes("C4:4")
            + "<attributes><time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
            + notes("D4:2"),
            "beat 3: the meter changes",
        ),
        (
            notes("C4:8")
            + "<backup><duration>4</duration></backup>"
            + note("E4", 4, "<voice>2</voice>"),
            "beat 3: several voices in one staff",
        ),
        (
            note("C4", 8, "<staff>1</staff>")
            + "<backup><duration>8</duration></backup>"
            + note("E3", 8, "<staff>2</staff>"),
            "beat 1: several staves in one part",
        ),
        (notes("C4:6") + note("C4", 2).replace(">C<", ">H<"), "beat 4: this is not valid MusicXML"),
        (
            notes("C4:6") + note("C4", 2).replace("<alter>0", "<alter>0.5"),
            "beat 4: a quarter tone",
        ),
        (
            notes("C4:6") + note("C4", 2).replace("<duration>2", "<duration>1e999999999"),
            "beat 4: this is not valid MusicXML",
        ),
    ],
)  # fmt: skip
def test_what_a_reading_cannot_have_is_told_with_measure_and_beat(second, fault):
    told = faults(one(notes("C4:8"), second, notes("C4:8")))
    assert any(each.startswith(f"measure 2, {fault}") for each in told), told


def test_all_faults_are_told_at_once_in_the_order_of_the_measures():
    data = one(
        notes("C4:8"),
        notes("C4:4 D4") + note("D4", 2, _TRIPLET),
        note("E4", 1, "<grace/>") + notes("C4:6"),
        notes("C4:4") + note("D4", 4) + note("F4", 4, "<chord/>"),
        fifths=9,
    )
    assert faults(data) == [
        "measure 1, beat 1: a key of 9 sharps or flats",
        "measure 2, beat 4: a tuplet",
        "measure 3, beat 1: a grace note",
        "measure 3, beat 4: the measure adds up to 3 quarters",
        "measure 4, beat 3: a chord",
    ]


def test_a_beat_is_the_felt_beat_and_measures_are_named_as_in_the_file():
    data = score(
        measures(
            attributes(metre="6/8") + notes("C4:6"),
            notes("C4:3") + note("D4", 3, "<cue/>"),
            first=7,
        )
    )
    assert faults(data) == ["measure 8, beat 2: a cue or a drum note"]


def test_faults_name_the_part_where_there_are_several():
    good = measures(attributes() + notes("C4:8"))
    bad = measures(attributes() + notes("C4:6"))
    assert faults(score(good, bad, names=("Soprano", "Alto")))[0] == (
        "Alto, measure 1, beat 4: the measure adds up to 3 quarters"
    )
    assert faults(score(good, bad, names=("Voice", "Voice")))[0].startswith("part 2, measure 1")


def test_more_than_three_parts_are_too_many():
    part = measures(attributes() + notes("C4:8"))
    assert faults(score(part, part, part, part)) == ["file.musicxml: it has 4 parts"]


def test_parts_that_do_not_fit_together_are_told():
    first = measures(attributes() + notes("C4:8"), notes("C4:8"))
    assert faults(score(first, measures(attributes() + notes("C4:8")))) == [
        "Voice 2: it has 1 measures, the first part 2"
    ]
    assert faults(score(first, measures(attributes(1) + notes("C4:8"), notes("C4:8")))) == [
        "Voice 2: its key differs from the first part's"
    ]
    waltz = measures(attributes(metre="3/4") + notes("C4:6"), notes("C4:6"))
    assert "Voice 2: its meter differs from the first part's" in faults(score(first, waltz))


@pytest.mark.parametrize(
    ("data", "fault"),
    [
        (score(), "file.musicxml: it has no part with notes"),
        (score(""), "file.musicxml: it has no note"),
        (line("r:8"), "file.musicxml: it has no note"),
        (line(*["C4:8"] * 129), "file.musicxml: it has 129 measures"),
        (
            score(measures("<attributes><divisions>2</divisions></attributes>" + notes("C4:8"))),
            "file.musicxml: it has no time signature",
        ),
        (score(measures(notes("C4:8"))), "measure 1, beat 1: this is not valid MusicXML: "
         "a duration of 8 in divisions of None"),
        (b"<score-timewise/>", "file.musicxml: it holds <score-timewise>, not music by parts"),
        (line("C4:8", mode="dorian"), "measure 1, beat 1: a dorian key"),
        (line("C4:8", metre="3+2/4"), "measure 1, beat 1: the meter 3+2/4"),
        (line("C4:8", metre="4/3"), "measure 1, beat 1: the meter 4/3"),
    ],
)  # fmt: skip
def test_a_file_without_what_a_reading_needs_says_what_is_missing(data, fault):
    assert fault in faults(data)


def test_of_very_many_faults_the_first_forty_are_told():
    told = faults(line("C4:8", *["C4:6 D4:1"] * 100))
    assert len(told) == 41
    assert told[-1] == "file.musicxml: and 60 more faults"
