"""What a reader sees, judged by its pixels: size, place and colour."""

import doctest
import re
import xml.etree.ElementTree as ET
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction

import numpy as np
import pytest

from bot.errors import RenderFailed
from bot.music.voice import Clef
from bot.notation import layout
from bot.notation.engrave import INK, PAPER, EngravingStyle, png, svg
from bot.notation.picture import note_boxes
from bot.notation.write import musicxml
from bot.notation.written import written_measures
from tests.notation.lines import exercise
from tests.notation.pixels import ink, pixels, staves

FOUR = "0:q 1:q 2:h 2:q 3:e 2:e 4:h 4:q 2:q 3:q 1:q 0:hd r:q"
EIGHT = f"{FOUR} 2:q 2:e 3:e 4:q 2:q 4:q 5:q 4:h 3:q 2:q 1:q 2:q 0:w"
DENSE = "0:e 1:e 2:e 3:e 4:e 5:e 4:e 2:e " * 4
SIXTEENTHS = "0:s 1:s 2:s 3:s 4:e 5:e 4:ed 2:s 3:q " * 4
UPPER, LOWER = "4:q 4:q 4:h 2:w", "2:q 0:q 0:h 0:w"
PHONE = EngravingStyle(phone=True)
PHONE_PX = 360
FINE = 6  # pixels that a CSS pixel is painted with where heights are measured
BARE = EngravingStyle(mark_do=False, measure_numbers=False)


def write(made, *clefs, labels=()):
    return musicxml(made, clefs=clefs or (Clef.TREBLE,) * len(made.parts), labels=labels)


def draw(made, style=None, *clefs, labels=()):
    return svg(write(made, *clefs, labels=labels), style)


SIZES = {
    "plain": (exercise("F", "4/4", EIGHT), ()),
    "many flats and eighths": (exercise("Ab", "4/4", DENSE), ()),
    "sixteenths": (exercise("E", "4/4", SIXTEENTHS), ()),
    "bass": (exercise("Bb", "4/4", FOUR, octaves=(2,)), (Clef.BASS,)),
    "three parts": (
        exercise("G", "4/4", UPPER, LOWER, LOWER, octaves=(4, 4, 3)),
        (Clef.TREBLE, Clef.TREBLE8, Clef.BASS),
    ),
}


@pytest.mark.parametrize("name", SIZES)
def test_on_a_phone_every_staff_is_at_least_28_css_pixels_high(name):
    made, clefs = SIZES[name]
    labels = ("Part I", "Part II", "Part III")[: len(made.parts)] if len(made.parts) > 1 else ()
    painted = png(draw(made, PHONE, *clefs, labels=labels), PHONE_PX * FINE)
    heights = [staff.height / FINE for staff in staves(painted)]
    assert min(heights) >= 28
    assert max(heights) - min(heights) < 0.2


@pytest.mark.parametrize("name", SIZES)
def test_from_the_last_row_every_staff_is_at_least_a_thirtieth_of_the_screen_wide(name):
    made, clefs = SIZES[name]
    painted = png(draw(made, None, *clefs), 1600)
    assert min(staff.height for staff in staves(painted)) >= 1600 / 30


def test_simple_music_is_drawn_larger_than_dense_music():
    plain, dense = (exercise("F", "4/4", line) for line in (FOUR, DENSE))
    heights = [staves(png(draw(made)))[0].height for made in (plain, dense)]
    assert heights[0] > 1.25 * heights[1]


def systems(made, style=None, parts=1):
    return len(staves(png(draw(made, style), 1600))) // parts


def test_four_measures_stand_in_a_system_and_two_on_a_phone():
    assert systems(exercise("F", "4/4", EIGHT)) == 2
    assert systems(exercise("F", "4/4", FOUR)) == 1
    assert systems(exercise("F", "4/4", EIGHT), PHONE) == 4
    assert systems(exercise("F", "4/4", "0:w " * 6)) == 2
    assert systems(exercise("F", "4/4", UPPER, LOWER), PHONE, parts=2) == 1


def test_one_full_measure_on_a_phone_does_not_part_the_easy_ones():
    made = exercise("Eb", "4/4", "0:s 1:s 2:s 3:s " * 4 + "0:h 1:h " * 5)
    assert systems(made, PHONE) == 4  # 1, 2, 3-4, 5-6


def test_the_examples_of_how_measures_are_shared_out_hold():
    assert doctest.testmod(layout) == (0, 2)


def test_a_system_is_as_wide_as_the_page_and_the_last_one_too():
    dark = ink(png(draw(exercise("F", "4/4", EIGHT), BARE)))
    for staff in staves(png(draw(exercise("F", "4/4", EIGHT), BARE))):
        row = np.flatnonzero(dark[round(staff.lines[0])])
        assert row[0] < 0.03 * dark.shape[1]
        assert row[-1] > 0.97 * dark.shape[1]


def test_a_pickup_does_not_leave_the_last_system_short():
    whole = " ".join(["4:w"] * 8)
    made = exercise("F", "4/4", f"4:q {whole}", pickup=Fraction(1, 4))
    dark = ink(png(draw(made, BARE)))
    rights = [
        np.flatnonzero(dark[round(staff.lines[2])]).max() for staff in staves(png(draw(made, BARE)))
    ]
    assert len(rights) == 2
    assert max(rights) - min(rights) < 0.02 * dark.shape[1]


def test_a_single_measure_at_the_end_is_not_pulled_apart():
    made = exercise("F", "3/4", "0:hd 1:hd 2:q 1:q 0:q")
    dark = ink(png(draw(made, PHONE), 1600))
    lower = dark[dark.shape[0] // 2 + dark.shape[0] // 10 :]
    assert np.flatnonzero(lower.any(axis=0))[-1] < 0.8 * dark.shape[1]


def test_the_picture_is_ink_on_paper():
    painted = pixels(png(draw(exercise("F", "4/4", FOUR))))
    paper = tuple(int(PAPER[n : n + 2], 16) for n in (1, 3, 5))
    assert tuple(painted[0, 0]) == (*paper, 255)
    darkest = painted[painted[:, :, :3].sum(axis=2) == painted[:, :, :3].sum(axis=2).min()]
    assert tuple(darkest[0][:3]) == tuple(int(INK[n : n + 2], 16) for n in (1, 3, 5))
    assert 0.01 < ink(png(draw(exercise("F", "4/4", FOUR)))).mean() < 0.2


def test_the_ground_may_be_transparent_and_the_ink_of_any_colour():
    painted = pixels(png(draw(exercise("F", "4/4", FOUR)), ink="#F4ECD8", paper=None))
    assert painted[0, 0, 3] == 0
    solid = painted[painted[:, :, 3] == 255]
    assert len(solid)
    assert set(map(tuple, solid[:, :3])) == {(0xF4, 0xEC, 0xD8)}


def test_the_picture_has_the_width_that_was_asked_for():
    drawn = draw(exercise("F", "4/4", FOUR))
    assert pixels(png(drawn, 800)).shape[1] == 800
    assert ET.fromstring(drawn).get("width") == "1600"
    assert ET.fromstring(draw(exercise("F", "4/4", FOUR), PHONE)).get("width") == "360"


def test_measure_numbers_can_be_seen_and_taken_away():
    made = exercise("F", "4/4", EIGHT)
    plain, numbered = (
        pixels(png(draw(made, EngravingStyle(mark_do=False, measure_numbers=shown))))
        for shown in (False, True)
    )
    assert plain.shape == numbered.shape
    changed = (plain != numbered).any(axis=2)
    for staff in staves(png(draw(made, BARE))):
        above = changed[: round(staff.lines[0])][-round(staff.height) :]
        assert above.any()
        on_staff = changed[round(staff.lines[0]) : round(staff.lines[-1])]
        assert not on_staff.any()
    assert changed.sum() > 500


def test_a_number_at_a_systems_beginning_leaves_the_do_mark_alone():
    made = exercise("Bb", "4/4", EIGHT, octaves=(3,))  # do lies above the staff, at the number
    drawn = [
        draw(made, EngravingStyle(measure_numbers=shown), Clef.BASS) for shown in (False, True)
    ]
    plain, numbered = (pixels(png(each)) for each in drawn)
    changed = (plain != numbered).any(axis=2)
    assert changed.any()
    assert not changed[:, : staves(png(drawn[0]))[0].left].any()


def test_measure_numbers_are_lighter_than_the_notes():
    made = exercise("F", "4/4", FOUR)
    plain, numbered = (
        pixels(png(draw(made, EngravingStyle(mark_do=False, measure_numbers=shown))))
        for shown in (False, True)
    )
    number = numbered[(plain != numbered).any(axis=2)][:, :3].max(axis=1).min()
    assert 80 < number < 120  # pencil, #645D53, against ink, #1D1A16


def test_labels_stand_left_of_their_staves():
    made = exercise("F", "4/4", UPPER, LOWER)
    dark = ink(png(draw(made, BARE, labels=("Part I", "Part II"))))
    for staff in staves(png(draw(made, BARE, labels=("Part I", "Part II")))):
        rows = slice(round(staff.lines[0]), round(staff.lines[-1]))
        label = dark[rows, : staff.left - round(staff.height / 2)]
        assert label.sum() > 200


def test_on_a_phone_labels_lose_the_word_that_all_of_them_share():
    made = exercise("F", "4/4", UPPER, LOWER)
    lefts = [
        staves(png(draw(made, PHONE, labels=labels), 1600))[0].left
        for labels in (("Part I", "Part II"), ("I", "II"), ("High", "Low"))
    ]
    assert lefts[0] == lefts[1] < lefts[2]


@pytest.mark.parametrize(("style", "share"), [(None, 0.42), (PHONE, 0.42)])
def test_a_very_long_label_is_cut_and_leaves_the_page_to_the_music(style, share):
    made = exercise("F", "4/4", UPPER, LOWER)
    long = "All who sing the upper line of the second choir " * 3
    painted = png(draw(made, style, labels=(long, "II")), 1600)
    assert staves(painted)[0].left < share * 1600
    assert not ink(painted)[:, :5].any()


def test_letters_that_no_font_of_ours_has_are_drawn_as_boxes_and_accidentals_as_signs():
    made = exercise("F", "4/4", UPPER, LOWER)
    pictures = {draw(made, BARE, labels=(label, "II")) for label in ("B♭", "B♯", "B♮", "B語", "B")}
    assert len(pictures) == 5


def test_a_box_lies_around_every_note_and_rest_at_its_pitch():
    made = exercise("F", "4/4", EIGHT, EIGHT)
    drawn = draw(made, EngravingStyle(do_name="do"))
    boxes = note_boxes(drawn)
    scale = 1600 / float(re.search(r'viewBox="0 0 (\d+)', drawn)[1])
    painted = png(drawn)
    dark, found = ink(painted), staves(painted)
    for part in (0, 1):
        signs = [(m.number, n) for m in written_measures(made, part) for n in m.notes]
        mine = [box for box in boxes if box.part == part]
        assert [box.note for box in mine] == list(range(len(signs)))
        for box, (measure, sign) in zip(mine, signs, strict=True):
            left, top = box.x * scale, box.y * scale
            right, bottom = left + box.width * scale, top + box.height * scale
            assert dark[round(top) : round(bottom), round(left) : round(right)].mean() > 0.3
            if sign.tone is not None:
                staff = found[part + 2 * (measure > 4)]
                step = made.pitch(sign.tone, part).staff_step - 30  # E4 is the bottom line
                assert staff.position((top + bottom) / 2) == pytest.approx(step, abs=0.2)


def test_the_picture_is_safe_in_any_page():
    drawn = draw(exercise("Bb", "6/8", "0:qd 1+:q 2:e 3:hd~ 3:hd"), None, labels=("B♭ one",))
    root = ET.fromstring(drawn)
    tags = {element.tag.removeprefix("{http://www.w3.org/2000/svg}") for element in root.iter()}
    assert tags <= {"svg", "g", "path", "polygon", "ellipse", "rect"}
    names = {name for element in root.iter() for name in element.attrib}
    assert not names & {"id", "class", "style", "href", "role", "onload", "font-family"}
    assert "url(" not in drawn
    colours = {e.get(n) for e in root.iter() for n in ("fill", "stroke") if e.get(n)}
    assert colours == {"currentColor", "none"}


def test_the_same_music_gives_the_same_picture_whatever_came_between():
    first, other = (write(exercise(key, "4/4", EIGHT)) for key in ("F", "D"))
    before = svg(first), svg(first, PHONE)
    svg(other)
    assert (svg(first), svg(first, PHONE)) == before


def test_pictures_drawn_at_the_same_time_do_not_disturb_one_another():
    files = [write(exercise(key, "4/4", EIGHT)) for key in ("F", "D", "Bb", "G")] * 3
    alone = [svg(file) for file in files]
    with ThreadPoolExecutor(4) as threads:
        assert list(threads.map(svg, files)) == alone


def test_a_part_of_rests_has_no_do_mark_and_does_no_harm():
    assert len(note_boxes(draw(exercise("F", "4/4", "0:w 0:w", "r:w r:w")))) == 4


def test_what_is_no_picture_is_refused():
    with pytest.raises(RenderFailed, match="could not be painted"):
        png("<svg xmlns='http://www.w3.org/2000/svg'")
