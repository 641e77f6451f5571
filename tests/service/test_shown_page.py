"""Rhythm alone, by the choir's page or by the reading itself: on one line, and no key is named."""

from dataclasses import replace

import pytest

from bot.activities.choir import Presentation
from bot.media.request import EngravingRequest
from bot.music.page_options import PageOptions, Under
from bot.music.turns import rhythm_only
from bot.service.card import Arrangement, Media
from bot.service.cards import card_of
from bot.service.media_requests import media_request, page_of
from bot.service.shown_page import page_shown
from tests.fakes.choirs import a_choir, a_reading
from tests.notation.lines import english

_PLAIN = a_reading()
_RHYTHM = replace(_PLAIN, exercise=rhythm_only(_PLAIN.exercise))
_BARE = a_choir(presentation=Presentation(page=PageOptions(rhythm_only=True)))
_NAMED = a_choir(presentation=Presentation(page=PageOptions(under=(Under.SYLLABLES, Under.BEATS))))


def test_a_reading_of_rhythm_alone_stands_on_one_line_whatever_the_choir_wishes():
    assert page_shown(_PLAIN, _NAMED) == _NAMED.presentation.page
    assert page_shown(_RHYTHM, _NAMED) == PageOptions(under=(Under.BEATS,), rhythm_only=True)
    for media in (Media.PICTURE, Media.PICTURE_SVG, Media.PHONE_PICTURE, Media.SHEET_PICTURE):
        request = media_request(_RHYTHM, _NAMED, Arrangement.TOGETHER, 0, media)
        assert isinstance(request, EngravingRequest)
        assert request.page.rhythm_only
        assert Under.SYLLABLES not in request.page.under
    assert page_of(_RHYTHM, _NAMED, "").options.rhythm_only


@pytest.mark.parametrize(("reading", "choir"), [(_PLAIN, _BARE), (_RHYTHM, a_choir())])
def test_a_card_without_tones_names_no_key(reading, choir):
    card = card_of(reading, choir, english())
    assert card.rhythm_only
    assert "F" not in card.title
    assert "major" not in card.title + card.text
    assert "do" not in card.text.split()


def test_a_card_with_tones_names_its_key():
    card = card_of(_PLAIN, a_choir(), english())
    assert not card.rhythm_only
    assert "F major" in card.title
    assert "F major" in card.text
