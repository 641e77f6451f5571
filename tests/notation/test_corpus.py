"""Files that other people wrote with other programs: the corpora that music21 installs.

What is expected here was read off the files by hand: the first notes, the last one, the number of
measures, and for those that are refused the place of the fault. All notes of the files that are
read are then held against music21's own reading.
"""

import io
import zipfile
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import music21
import pytest

from bot.errors import InputProblems
from bot.notation.read import exercise_from_musicxml, music_from_musicxml
from tests.notation.made import sung

CORPUS = Path(music21.__file__).parent / "corpus"

# File: key, metre, measures, and of every part the first three pitches and the last one.
READ = {
    "ciconia/quod_jactatur.xml": (
        "F", "2/4", 35, [("C4 D4 E4", "Bb3")],
    ),
    "corelli/opus3no1/1grave.xml": (
        "F", "4/4", 19, [("C6 C6 Bb5", "F4"), ("A5 A5 G5", "F4"), ("F3 F3 G3", "F2")],
    ),
    "trecento/PMFC_12_24-Benedicamus.xml": (
        "C", "6/8", 33, [("F4 F4 E4", "C4"), ("C4 D4", "F4"), ("F3 G3", "F3")],
    ),
    "trecento/PMFC_24_20-Padu... serenans.xml": (
        "C", "3/4", 90, [("A4", None), ("", None)],
    ),
    "trecento/PMFC_13_02-Kyrie-Questa-fanciulla.mxl": (
        "C", "6/8", 41, [("D4 C#4", "D4"), ("A3", "A3"), ("D3 E3", "D3")],
    ),
}  # fmt: skip

# File: how many faults there are (None where they are too many to count by hand), and the first.
REFUSED = {
    "bach/bwv66.6.mxl": (1, "bwv66.6.mxl: it has 4 parts"),
    "demos/two-voices.xml": (2, "measure 1, beat 1: several voices in one staff"),
    "demos/two-parts.xml": (3, "measure 1, beat 1: several staves in one part"),
    "demos/nested_tuplet_finale_test.xml": (1, "measure 1, beat 1: a tuplet"),
    "demos/voices_with_chords.xml": (8, "measure 1, beat 1: several voices in one staff"),
    "trecento/PMFC_13_01-Kyrie-Summe-Clementissime.xml": (
        1, "part 2: its key differs from the first part's",
    ),
    "luca/gloria.xml": (None, "Contratenor: its key differs from the first part's"),
    "beethoven/opus132.mxl": (1, "opus132.mxl: it unpacks to more than 2 MiB"),
}  # fmt: skip


def refusal(name):
    path = CORPUS / name
    with pytest.raises(InputProblems) as caught:
        exercise_from_musicxml(path.read_bytes(), path.name)
    return [f"{fault.place}: {fault.problem}" for fault in caught.value.faults]


@pytest.mark.parametrize("name", READ)
def test_a_file_that_can_be_a_reading_is_read_as_it_stands(name):
    key, metre, measures, parts = READ[name]
    made = exercise_from_musicxml((CORPUS / name).read_bytes(), name)
    assert (made.key.plain, str(made.metre), made.measures) == (key, metre, measures)
    assert len(made.parts) == len(parts)
    for index, (first, last) in enumerate(parts):
        pitches = [pitch.plain for pitch in made.pitches(index)]
        assert " ".join(pitches).startswith(first)
        assert last in (None, pitches[-1])


@pytest.mark.parametrize("name", READ)
def test_music21_hears_the_same_notes_in_it(name):
    data = (CORPUS / name).read_bytes()
    made = exercise_from_musicxml(data, name)
    if name.endswith(".mxl"):
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            inside = [n for n in archive.namelist() if n.endswith(".xml") and "META" not in n]
            data = archive.read(inside[0])
    text = data.decode("utf-16" if data.startswith(b"\xff\xfe") else "utf-8")
    score = music21.converter.parseData(text, format="musicxml")
    for index, part in enumerate(score.parts):
        found = [
            (
                Fraction(note.offset) / 4,
                Fraction(note.quarterLength) / 4,
                note.pitch.nameWithOctave.replace("-", "b"),
            )
            for note in part.flatten().stripTies().notes
        ]
        assert sung(made, index) == found


@pytest.mark.parametrize("name", REFUSED)
def test_a_file_that_cannot_be_a_reading_says_where_and_why(name):
    count, first = REFUSED[name]
    told = refusal(name)
    assert told[0] == first
    assert count in (None, len(told))


def test_a_change_of_metre_is_found_in_every_part():
    told = refusal("luca/gloria.xml")
    for part in ("Cantus", "Contratenor", "Tenor"):
        assert f"{part}, measure 28, beat 1: the meter changes" in told


def test_a_clarinet_part_is_in_the_key_of_its_piano():
    told = refusal("weber/concertino_clarinet.mxl")
    assert "Piano, measure 1, beat 1: a chord" in told
    assert not any("key" in fault for fault in told)


def test_a_song_whose_singer_stands_alone_has_only_the_faults_of_the_singer():
    tree = ElementTree.parse(CORPUS / "schubert/Lindenbaum.xml").getroot()
    tree.remove(tree.findall("part")[1])
    with pytest.raises(InputProblems) as caught:
        exercise_from_musicxml(ElementTree.tostring(tree), "song")
    assert [f"{fault.place}: {fault.problem}" for fault in caught.value.faults] == [
        "measure 11, beat 3: a tuplet",
        "measure 15, beat 3: a tuplet",
        "measure 25, beat 1: the key changes",
        "measure 31, beat 3: a tuplet",
        "measure 35, beat 3: a tuplet",
        "measure 37, beat 1: the key changes",
        "measure 61, beat 3: a tuplet",
        "measure 65, beat 3: a tuplet",
        "measure 75, beat 3: a tuplet",
    ]


def test_a_title_is_taken_from_the_file():
    path = CORPUS / "trecento/PMFC_24_20-Padu... serenans.xml"
    assert music_from_musicxml(path.read_bytes(), path.name).title == "Padu... serenans"
