"""Pages of a line read another way: from the right, bare, with measures empty."""

import re
from dataclasses import replace

import pytest
from pypdfium2 import PdfDocument

from bot.activities.way import Way
from bot.errors import Refused
from bot.media.render import make
from bot.media.request import EngravingRequest, SoundRequest
from bot.music.turns import hidden_measures, retrograde
from bot.music.voice import Clef
from bot.notation.emptied import emptied
from bot.notation.engrave import svg
from bot.notation.picture import note_boxes
from bot.notation.write import musicxml
from bot.service.card import Media
from bot.service.printed_ways import printed_ways
from bot.service.takehome import HomeFolder, home_sheet
from bot.service.turned import hidden_in
from bot.service.turned_media import WITH_PAGE, turned_request
from tests.fakes.choirs import MONDAY, a_choir, a_reading
from tests.fakes.renderer import InstantRenderer
from tests.fakes.world import content
from tests.music.lines import line

LINE = line(" | ".join(["do:q re:q mi:q do:q", "mi:e re:e do:h."] * 4))
READING = replace(a_reading(), exercise=LINE)


def request(way, media=Media.PICTURE_SVG, reading=READING):
    return turned_request(reading, a_choir(), 0, way, media)


def test_from_the_right_the_answer_page_is_the_line_written_out():
    assert request(Way.RETROGRADE).exercise.parts[0].notes == retrograde(LINE).parts[0].notes
    start = request(Way.RETROGRADE, Media.PITCH_SOUND)
    assert isinstance(start, SoundRequest)
    assert start.sound.pitch == retrograde(LINE).first_pitch()


def test_bare_rhythm_is_written_without_pitches():
    assert request(Way.RHYTHM_ONLY).page.rhythm_only


def test_hidden_measures_are_empty_in_the_picture_and_all_others_stand():
    wanted = request(Way.HIDDEN_MEASURES)
    assert isinstance(wanted, EngravingRequest)
    drawn = make(wanted).decode()
    hidden = hidden_in(READING)
    seen = [n for m in range(1, 9) if m not in hidden for n in range(4 if m % 2 else 3)]
    assert len(note_boxes(drawn)) == len(seen)
    assert len(re.findall("<g ", drawn)) == len(re.findall("</g>", drawn))


def test_nothing_is_taken_out_where_no_measure_is_empty():
    exercise = hidden_measures(LINE, ())
    picture = svg(musicxml(exercise, clefs=(Clef.TREBLE,)))
    assert emptied(picture, exercise, ()) == picture


@pytest.mark.parametrize("way", [way for way in Way if way not in WITH_PAGE])
def test_the_other_ways_need_no_page(way):
    with pytest.raises(Refused, match=r"way\.no_page"):
        request(way)


@pytest.mark.parametrize("media", [Media.LINE_SOUND, Media.KEY_SOUND])
def test_no_sound_of_the_line_comes_by_this_way(media):
    with pytest.raises(Refused, match=r"way\.no_page"):
        request(Way.RETROGRADE, media)


async def test_a_sheet_to_take_home_carries_every_page_and_a_substitutes_none():
    media, say = InstantRenderer(), content().wording
    sheet = await home_sheet(READING, a_choir(), media, say, hear=False, alone=True)
    assert list(sheet.parts[0].turned) == [way.value for way in WITH_PAGE]
    assert len(set(sheet.parts[0].turned.values())) == 3
    assert sheet.parts[0].back_sound
    sheet = await home_sheet(READING, a_choir(), media, say, hear=False, alone=False)
    assert sheet.parts[0].turned == {}


class _Made:
    """Real pictures; sounds do not matter on paper."""

    async def get_or_make(self, request):
        return make(request) if isinstance(request, EngravingRequest) else b"a sound"


async def test_on_paper_the_answers_come_after_all_the_pages():
    say, choir = content().wording, a_choir()
    sheet = await home_sheet(READING, choir, _Made(), say, hear=False, alone=True)
    folder = HomeFolder(choir=choir, monday=MONDAY, sheets=(sheet, sheet))
    pages = [
        page.get_textpage().get_text_bounded() for page in PdfDocument(printed_ways(folder, say))
    ]
    answers = ["The answer" in text for text in pages]
    assert answers == [False, False, True, True]
    assert "From the right: Begin at the last note" in pages[0].replace("\r\n", " ")
    assert "Curtain: Cover the line" in pages[0].replace("\r\n", " ")


async def test_in_large_print_every_page_has_one_picture_and_the_words_stand_once():
    say, choir = content().wording, a_choir()
    sheet = await home_sheet(READING, choir, _Made(), say, hear=False, alone=True)
    folder = HomeFolder(choir=choir, monday=MONDAY, sheets=(sheet, sheet))
    for size, points in (("letter", (612, 792)), ("a4", (595, 842))):
        document = PdfDocument(printed_ways(folder, say, large=True, page=size))
        texts = [page.get_textpage().get_text_bounded() for page in document]
        assert ["Cover the line" in text for text in texts] == [True, *[False] * 6]
        assert [("alone" in text, "The answer" in text) for text in texts[1:]] == [
            *[(True, False), (False, False)] * 2,
            *[(False, True)] * 2,
        ]
        assert document[0].get_size() == pytest.approx(points, abs=1)
