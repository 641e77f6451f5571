import hashlib
import os
import subprocess
import sys
import xml.etree.ElementTree as ET
from fractions import Fraction
from importlib.util import find_spec
from pathlib import Path

import pytest
import xmlschema
from hypothesis import given, settings
from music21 import clef, converter, layout, note

from bot.music.page_options import PageOptions
from bot.music.solfa import Solfa
from bot.music.voice import Clef
from bot.notation.under import with_options
from bot.notation.write import musicxml
from tests.notation.lines import exercise
from tests.notation.made import METRES, exercises

_XLINK = "http://www.w3.org/1999/xlink"
_XML = "http://www.w3.org/XML/1998/namespace"


def package(name):
    return Path(find_spec(name).origin).parent


@pytest.fixture(scope="module")
def schema():
    folder = package("musicxml") / "generate_classes"
    own = package("xmlschema") / "schemas"
    locations = {_XML: str(folder / "xml.xsd"), _XLINK: str(own / "XLINK" / "xlink.xsd")}
    return xmlschema.XMLSchema(
        str(folder / "musicxml_4_0.xsd"), locations=locations, allow="local", validation="lax"
    )


def write(made, **more):
    return musicxml(made, clefs=(Clef.TREBLE,) * len(made.parts), **more)


def root(made, **more):
    return ET.fromstring(write(made, **more))


def beams(line, metre="4/4"):
    """First-level and second-level beams of a line's notes, one word a note."""
    marks = {"begin": "(", "continue": "-", "end": ")", "forward hook": ">", "backward hook": "<"}
    return " ".join(
        "".join(marks[beam.text] for beam in note.findall("beam")) or "."
        for note in root(exercise("C", metre, line)).iter("note")
    )


def accidentals(key, line):
    return [
        note.findtext("accidental", ".") for note in root(exercise(key, "4/4", line)).iter("note")
    ]


@settings(max_examples=40, deadline=None)
@given(exercises())
def test_all_that_can_be_made_is_valid_musicxml_4(schema, made):
    written = root(made, labels=("I", "II", "III")[: len(made.parts)], tempo_bpm=66)
    assert [str(error) for error in schema.iter_errors(written)] == []
    assert written.get("version") == "4.0"


def test_the_schema_sees_what_is_not_valid(schema):
    broken = root(exercise("C", "4/4", "0:w"))
    broken.find("part/measure/note/type").text = "large"
    assert any(schema.iter_errors(broken))


@pytest.mark.parametrize("clef", Clef)
@pytest.mark.parametrize("metre", METRES)
def test_clefs_and_metres_are_valid_musicxml_4(schema, clef, metre):
    written = ET.fromstring(musicxml(exercise("D", metre, "0:h 1:h 2:w"), clefs=(clef,)))
    assert [str(error) for error in schema.iter_errors(written)] == []


def test_a_library_never_leaves_its_name_a_date_or_a_chance_id():
    written = write(exercise("F", "4/4", "0:w", "2:w"), labels=("I", "II")).decode()
    for trace in ("music21", "Music21", "date", "software", "creator", "<!--"):
        assert trace not in written
    parts = ET.fromstring(written.encode()).findall("part-list/score-part")
    assert [part.get("id") for part in parts] == ["P1", "P2"]


_PRINT_DIGEST = """
import hashlib
from bot.notation.engrave import png, svg
from tests.notation.test_write import SAMPLE, write
picture = svg(write(SAMPLE, labels=("I", "II")))
made = write(SAMPLE, labels=("I", "II"), tempo_bpm=60) + picture.encode() + png(picture)
print(hashlib.sha256(made).hexdigest())
"""
SAMPLE = exercise("Eb", "3/4", "0:q 1+:e 2:e 4:q 0:5/8 r:e", "0:hd 2:q 0:h")


def test_the_bytes_are_the_same_in_any_process_place_and_time_zone(tmp_path):
    digests = set()
    for number, zone in (("0", "UTC"), ("4242", "Asia/Tokyo")):
        surroundings = {
            "PATH": os.environ["PATH"], "PYTHONHASHSEED": number, "TZ": zone, "HOME": str(tmp_path),
            "LC_ALL": "C", "PYTHONPATH": str(Path(__file__).parents[2]),
        }  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-c", _PRINT_DIGEST],
            env=surroundings, cwd=tmp_path, capture_output=True, text=True, check=True,
        )  # fmt: skip
        digests.add(done.stdout.strip())
    assert len(digests) == 1
    assert len(digests.pop()) == hashlib.sha256().digest_size * 2


def test_a_beam_never_crosses_a_beat():
    assert beams("0:e 1:e 2:e 3:e 4:e 3:e 2:q") == "( ) ( ) ( ) ."
    assert beams("0:e 1:q 2:e 3:q 4:e 3:e") == ". . . . ( )"
    assert beams("0:e 1:e r:e 3:e 2:h") == "( ) . . ."


def test_beams_follow_the_metre():
    assert beams("0:e 1:e 2:e 3:e 2:e 1:e", "6/8") == "( - ) ( - )"
    assert beams("0:e 1:e 2:e", "3/8") == "( - )"
    assert beams("0:e 1:e 2:e 3:e 4:h", "cut") == "( - - ) ."


def test_a_short_beam_points_at_the_note_that_it_belongs_to():
    assert beams("0:ed 1:s 2:s 3:ed 4:h") == "( )< (> ) ."
    assert beams("0:ed 1:s 2:e 3:qd", "6/8") == "( -< ) ."
    assert beams("0:s 1:s 2:e 0:s 1:e 2:s 3:h") == "(( -) ) (> - )< ."


def test_a_pickup_is_beamed_by_the_beats_of_the_measure_it_ends():
    made = exercise("C", "4/4", "0:e 1:e 2:e 3:w", pickup=Fraction(3, 8))
    marked = [note.findtext("beam", ".") for note in root(made).iter("note")]
    assert marked == [".", "begin", "end", "."]


def test_an_accidental_stands_where_the_pitch_leaves_the_staffs_own():
    assert accidentals("F", "3:q 3+:q 3+:q 3:q") == [".", "natural", ".", "flat"]


def test_a_measure_later_the_usual_pitch_is_brought_to_mind_once():
    assert accidentals("C", "3+:w 3:h 3:h 3:w") == ["sharp", "natural", ".", "."]


def test_another_octave_needs_an_accidental_of_its_own():
    assert accidentals("C", "3+:q 10+:q 10:q 3+:q") == ["sharp", "sharp", "natural", "."]


def test_a_tied_note_keeps_its_accidental_over_the_bar_line():
    line = "3+:5/4 3+:q 3:h"
    assert accidentals("C", line) == ["sharp", ".", "sharp", "natural"]


def test_labels_and_a_bracket_stand_before_the_parts():
    written = root(exercise("C", "4/4", "0:w", "2:w"), labels=("Part I", "Part II"))
    assert [e.text for e in written.iter("part-name")] == ["Part I", "Part II"]
    assert written.findtext("part-list/part-group/group-symbol") == "bracket"


def test_the_tempo_counts_the_felt_beat():
    written = root(exercise("C", "6/8", "0:hd"), tempo_bpm=60)
    metronome = written.find(".//metronome")
    assert metronome.findtext("beat-unit") == "quarter"
    assert metronome.find("beat-unit-dot") is not None
    assert float(written.find(".//sound").get("tempo")) == 90  # quarters a minute


@pytest.mark.parametrize("more", [{"clefs": ()}, {"clefs": (Clef.BASS,) * 2}])
def test_a_clef_too_few_or_too_many_is_refused(more):
    with pytest.raises(ValueError, match="for 1 parts"):
        musicxml(exercise("C", "4/4", "0:w"), **more)


def test_labels_are_for_every_part_or_for_none():
    with pytest.raises(ValueError, match="1 labels for 2 parts"):
        write(exercise("C", "4/4", "0:w", "2:w"), labels=("I",))


@settings(max_examples=15, deadline=None)
@given(exercises())
def test_rhythm_alone_is_valid_musicxml_4(schema, made):
    bare = with_options(write(made), made, PageOptions(rhythm_only=True), Solfa())
    assert [str(error) for error in schema.iter_errors(ET.fromstring(bare))] == []


def test_music21_reads_rhythm_alone_as_notes_without_pitch_on_one_line():
    made = exercise("Eb", "3/4", "0:q 2:e 4:e 0:q 3+:qd 2:e r:q")
    bare = with_options(write(made), made, PageOptions(rhythm_only=True), Solfa())
    part = converter.parse(bare, format="musicxml").parts[0]
    notes = list(part.flatten().notes)
    assert {type(each) for each in notes} == {note.Unpitched}
    assert [each.quarterLength for each in notes] == [1, 0.5, 0.5, 1, 1.5, 0.5]
    assert {each.stemDirection for each in notes} == {"up"}
    assert part.recurse().getElementsByClass(clef.PercussionClef).first() is not None
    assert part.recurse().getElementsByClass(layout.StaffLayout).first().staffLines == 1
    assert part.recurse().getElementsByClass("KeySignature").first().sharps == 0
