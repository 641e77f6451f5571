"""What is newest on the page, held against the MusicXML 4.0 schema and two other readers."""

import warnings
import xml.etree.ElementTree as ET
from dataclasses import replace
from fractions import Fraction

import music21
import pytest

from bot.media.render import make
from bot.media.request import Engraved, EngravingRequest
from bot.music.page_options import PageOptions, Under
from bot.music.solfa import Solfa
from bot.music.voice import Clef
from bot.notation.under import with_options
from bot.notation.write import musicxml
from tests.notation.lines import exercise
from tests.notation.made import sung
from tests.notation.test_write import schema  # noqa: F401

_LINE = exercise("F", "4/4", "0:qd 1:e 2:q 4:q~ 4:q 3:q 2:h 1:w")
_WORDS = ("Lan-", "terns", "glow", "a-", "long", "the", "shore")
_NEWEST = {
    "a tie over the bar": _LINE,
    "words": replace(_LINE, parts=(replace(_LINE.parts[0], words=_WORDS),)),
    "pedal": exercise("F", "4/4", "4:q 2:q 4:h 2:q 1:q 0:h", "0:w~ 0:w"),
    "echo": exercise("G", "3/4", "0:q 1:q 2:q r:hd 4:hd r:hd", "r:hd 0:q 1:q 2:q r:hd 4:hd"),
    "canon with a pickup": exercise(
        "D", "3/4", "4:q 0:q 1:q 2:q 2:hd 0:h", "r:q r:hd r:h 4:q 0:h", pickup=Fraction(1, 4)
    ),
}
_PAGES = {
    "notes": PageOptions(),
    "all lines under": PageOptions(under=tuple(Under)),
    "rhythm": PageOptions(rhythm_only=True, under=(Under.RHYTHM, Under.BEATS)),
}


def _written(made, page):
    clefs = (Clef.TREBLE,) * len(made.parts)
    plain = musicxml(made, clefs=clefs, labels=("I", "II")[: len(clefs)], tempo_bpm=66)
    return with_options(plain, made, page, Solfa())


@pytest.mark.parametrize("page", _PAGES)
@pytest.mark.parametrize("name", _NEWEST)
def test_it_is_valid_musicxml_4(schema, name, page):  # noqa: F811
    written = ET.fromstring(_written(_NEWEST[name], _PAGES[page]))
    assert [str(error) for error in schema.iter_errors(written)] == []


@pytest.mark.parametrize("page", _PAGES)
@pytest.mark.parametrize("name", _NEWEST)
def test_music21_and_partitura_read_its_lengths_and_words(name, page, tmp_path):
    made, file = _NEWEST[name], tmp_path / "newest.musicxml"
    file.write_bytes(_written(made, _PAGES[page]))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura

        theirs = partitura.load_musicxml(file).parts
    ours = music21.converter.parse(file).parts
    for index, (one, other) in enumerate(zip(ours, theirs, strict=True)):
        heard = [(onset, length) for onset, length, _ in sung(made, index)]
        notes = list(one.flatten().stripTies().notes)
        assert [(Fraction(n.offset) / 4, Fraction(n.quarterLength) / 4) for n in notes] == heard
        quarter = 4 * int(other.quarter_durations()[0][1])
        struck = [
            each
            for kind in (partitura.score.Note, partitura.score.UnpitchedNote)
            for each in other.iter_all(kind)
            if each.tie_prev is None
        ]
        found = sorted((int(each.start.t), int(each.duration_tied)) for each in struck)
        assert [(Fraction(a, quarter), Fraction(b, quarter)) for a, b in found] == heard
        words = made.parts[index].words
        if words:
            verse = [n.lyrics[0].text for n in notes]
            assert verse == [word.removesuffix("-") for word in words]


@pytest.mark.parametrize("page", _PAGES)
@pytest.mark.parametrize("name", _NEWEST)
def test_it_can_be_engraved_for_screen_phone_and_sheet(name, page):
    made = _NEWEST[name]
    for shape in ({}, {"phone": True}, {"sheet": True}):
        request = EngravingRequest(
            exercise=made,
            clefs=(Clef.TREBLE,) * len(made.parts),
            kind=Engraved.SVG,
            page=_PAGES[page],
            **shape,
        )
        assert make(request).count(b"data-note=") == sum(
            len(part.findall("measure/note"))
            for part in ET.fromstring(_written(made, _PAGES[page])).findall("part")
        )
