"""Lines under the notes, large print, one measure a line, rhythm alone: as text and as pictures."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from bot.media.render import make
from bot.media.request import Engraved, EngravingRequest
from bot.music.page_options import PageOptions, Under
from bot.music.rhythm_names import RhythmNames
from bot.music.solfa import Naming, Solfa
from bot.music.voice import Clef
from bot.notation.lettering import music_glyph
from bot.notation.marks import SPACE
from bot.notation.picture import note_boxes
from bot.notation.under import lines_under, with_options
from bot.notation.write import musicxml
from tests.notation.lines import exercise
from tests.notation.pixels import ink, staves

LINE = exercise("F", "4/4", "0:q 1:q 2:e 3:e 2:q 4:h~ 4:q r:q 3+:h 4:h -3:q -1:q 0:h")
TWO = exercise("G", "4/4", "4:q 4:q 4:h 2:w", "2:q 0:q 0:h 0:w")
PLAIN = PageOptions()
SOLFA = Solfa()


def written(made, options, solfa=SOLFA):
    clefs = (Clef.TREBLE,) * len(made.parts)
    return with_options(musicxml(made, clefs=clefs), made, options, solfa)


def verses(made, options, part=0, solfa=SOLFA):
    root = ET.fromstring(written(made, options, solfa))
    notes = list(root.findall("part")[part].iter("note"))
    most = max(len(note.findall("lyric")) for note in notes)
    return [
        [note.findtext(f"lyric[@number='{n}']/text", "") for note in notes]
        for n in range(1, most + 1)
    ]


def picture(made, options, **more):
    request = EngravingRequest(
        exercise=made, clefs=(Clef.TREBLE,) * len(made.parts), page=options, **more
    )
    return make(request)


def test_nothing_stands_under_the_notes_unless_it_is_asked_for():
    plain = musicxml(LINE, clefs=(Clef.TREBLE,))
    assert with_options(plain, LINE, PLAIN, SOLFA) == plain
    assert b"<lyric" not in plain
    assert EngravingRequest(exercise=LINE, clefs=(Clef.TREBLE,)).page == PLAIN


def test_each_line_names_the_notes_in_its_own_way():
    under = (Under.SYLLABLES, Under.NUMBERS, Under.LETTERS, Under.BEATS)
    found = verses(LINE, PageOptions(under=under))
    assert [" ".join(filter(None, line)) for line in found] == [
        "do re mi fa mi so fi so so ti do",
        "1 2 3 4 3 5 ♯4 5 5 7 1",
        "F G A B♭ A C B C C E F",
        "1 2 3 4 1\N{THIN SPACE}(2)\N{THIN SPACE}(3) 1\N{THIN SPACE}(2) "
        "3\N{THIN SPACE}(4) 1 2 3\N{THIN SPACE}(4)",
    ]


def test_a_rest_and_a_note_that_is_only_held_have_no_text():
    (line,) = verses(LINE, PageOptions(under=(Under.SYLLABLES,)))
    assert line[5:8] == ["so", "", ""]  # so, the same so held, a rest


def test_the_choirs_own_names_stand_there():
    own = Solfa(naming=Naming.NUMBERS, fifth="sol", seventh="si")
    (line,) = verses(LINE, PageOptions(under=(Under.SYLLABLES,)), solfa=own)
    assert {"sol", "si"} <= set(line)
    minor = exercise("D minor", "4/4", "-2:q 0:q 2:h")
    (la,) = verses(minor, PageOptions(under=(Under.SYLLABLES,)))
    (do,) = verses(minor, PageOptions(under=(Under.SYLLABLES,)), solfa=Solfa(do_based_minor=True))
    assert (la, do) == (["la", "do", "mi"], ["do", "me", "so"])


@pytest.mark.parametrize("names", RhythmNames)
def test_rhythm_syllables_follow_the_choirs_way(names):
    (line,) = verses(LINE, PageOptions(under=(Under.RHYTHM,), rhythm_names=names))
    assert line[0] == {"1": "1", "t": "ta", "d": "du"}[names.value[0]]


def test_words_stand_there_where_a_line_has_them():
    words = ("Sing", "a", "lit-", "tle", "song", "now", "it", "is", "time", "to", "rest")
    with_words = replace(LINE, parts=(replace(LINE.parts[0], words=words),))
    line, syllables = verses(with_words, PageOptions(under=(Under.SYLLABLES,)))
    assert syllables[:3] == ["do", "re", "mi"]
    assert [text for text in line if text][:5] == ["Sing", "a", "lit", "tle", "song"]
    root = ET.fromstring(written(with_words, PLAIN))
    assert [each.text for each in root.iter("syllabic")][:5] == [
        "single",
        "single",
        "begin",
        "end",
        "single",
    ]
    assert list(lines_under(with_words, PLAIN, SOLFA, 0)) == []


def test_every_part_has_lines_of_its_own():
    options = PageOptions(under=(Under.SYLLABLES,))
    assert verses(TWO, options, 0)[0] == ["so", "so", "so", "mi"]
    assert verses(TWO, options, 1)[0] == ["mi", "do", "do", "do"]


def test_each_line_makes_the_picture_higher_and_is_drawn_below_its_staff():
    heights = []
    for under in ((), (Under.SYLLABLES,), (Under.SYLLABLES, Under.BEATS)):
        painted = picture(LINE, PageOptions(under=under))
        heights.append(ink(painted).shape[0] / staves(painted)[0].height)
    assert heights == sorted(heights)
    assert heights[2] - heights[0] > 0.7
    dark = ink(picture(LINE, PageOptions(under=(Under.SYLLABLES,))))
    (staff,) = staves(picture(LINE, PageOptions(under=(Under.SYLLABLES,))))
    below = dark[int(staff.lines[-1] + 0.75 * staff.height) :]
    assert below.any()


@pytest.mark.parametrize("phone", [False, True])
def test_texts_of_neighbours_do_not_touch(phone):
    """Among sixteenths, where there is least room, white columns part all the texts."""
    dense = exercise("F", "4/4", "0:s 1:s 2:s 3:s 4:s 3:s 2:s 1:s " * 2)
    options = PageOptions(under=(Under.SYLLABLES,))
    request = EngravingRequest(
        exercise=dense, clefs=(Clef.TREBLE,), page=options, phone=phone, mark_do=False
    )
    painted = make(request)
    dark, staff = ink(painted), staves(painted)[-1]
    row = dark[int(staff.lines[-1] + 0.4 * staff.height) :].any(axis=0)
    gaps = np.diff(np.flatnonzero(np.concatenate(([True], row, [True]))))
    space = staff.height / 4
    texts = 1 + int((gaps[1:-1] > 0.35 * space).sum())
    assert texts >= len(dense.parts[0].notes) // len(staves(painted))


def test_large_print_is_larger_and_one_measure_a_line_has_a_line_a_measure():
    plain, large = (staves(picture(LINE, PageOptions(large=large))) for large in (False, True))
    assert large[0].height > 1.4 * plain[0].height
    assert len(staves(picture(LINE, PageOptions(one_a_line=True)))) == LINE.measures


def test_measure_numbers_can_be_left_out():
    assert picture(LINE, PageOptions(measure_numbers=False)) != picture(LINE, PLAIN)


def test_rhythm_alone_stands_on_a_single_line_without_key_or_do():
    request = EngravingRequest(
        exercise=LINE,
        clefs=(Clef.TREBLE,),
        kind=Engraved.SVG,
        page=PageOptions(rhythm_only=True),
    )
    drawn = make(request).decode()
    heads = list(note_boxes(drawn))
    assert len(heads) == len(LINE.parts[0].notes)
    sung = [n for n, note in enumerate(LINE.parts[0].notes) if note.tone is not None]
    middles = {round(heads[n].y + heads[n].height / 2) for n in sung}
    assert max(middles) - min(middles) <= 2
    with pytest.raises(AssertionError, match="are no staves"):
        staves(make(replace(request, kind=Engraved.PNG)))


def test_the_figures_of_the_metre_part_where_one_line_alone_stands_between_them():
    def figures(options):
        drawn = make(
            EngravingRequest(
                exercise=LINE, clefs=(Clef.TREBLE,), kind=Engraved.SVG, page=options, mark_do=False
            )
        ).decode()
        four = re.escape(music_glyph("E084"))
        return [
            float(y) for y in re.findall(rf'translate\([\d.]+,([\d.]+)\)[^"]*" d="{four}', drawn)
        ]

    upper, lower = figures(PLAIN)
    assert lower - upper == 2 * SPACE
    upper, lower = figures(PageOptions(rhythm_only=True))
    assert lower - upper > 2.2 * SPACE


def test_a_pickup_and_a_compound_metre_keep_their_texts():
    made = exercise("C", "6/8", "4:e 0:qd 2:q 1:e", pickup=Fraction(1, 8))
    (line,) = verses(made, PageOptions(under=(Under.RHYTHM,), rhythm_names=RhythmNames.DU_DE))
    assert line == ["di", "du", "du", "di"]


def test_equal_input_gives_equal_bytes():
    options = PageOptions(under=tuple(Under))
    assert written(TWO, options) == written(TWO, options)
    assert picture(TWO, options) == picture(TWO, options)


@pytest.mark.parametrize("options", [PLAIN, PageOptions(rhythm_only=True)], ids=["five", "one"])
def test_parts_are_named_beside_staves_of_five_lines_and_of_one(options):
    def strokes(labels):
        request = EngravingRequest(
            exercise=TWO,
            clefs=(Clef.TREBLE,) * 2,
            labels=labels,
            kind=Engraved.SVG,
            page=options,
            mark_do=False,
        )
        return make(request).decode().count("<path")

    named = ("Part I", "Part II")
    letters = sum(len(name.replace(" ", "")) for name in named)
    assert strokes(named) - strokes(()) == letters  # on one system
