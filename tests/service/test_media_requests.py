"""What is asked of the engraver and the tone for a choir's own way of reading."""

import pytest

from bot.activities.choir import Presentation
from bot.music.solfa import Naming, Solfa
from bot.service.card import Arrangement, Media
from bot.service.media_requests import all_requests, media_request
from tests.fakes.choirs import a_choir, a_reading


@pytest.mark.parametrize(
    ("solfa", "called", "on_tonic"),
    [
        (Solfa(), "do", False),
        (Solfa(do_based_minor=True), "do", True),
        (Solfa(naming=Naming.NUMBERS), "1", True),
        (Solfa(naming=Naming.LETTERS), "do", False),
    ],
)
def test_the_do_mark_says_what_the_choir_says(solfa, called, on_tonic):
    choir = a_choir(presentation=Presentation(solfa=solfa))
    asked = media_request(a_reading(), choir, Arrangement.TOGETHER, 0, Media.PICTURE)
    assert (asked.do_name, asked.do_is_tonic) == (called, on_tonic)


def test_the_sounds_follow_the_choirs_standard_pitch():
    choir = a_choir(presentation=Presentation(a4_hz=442.0))
    for media in (Media.KEY_SOUND, Media.PITCH_SOUND):
        asked = media_request(a_reading(), choir, Arrangement.TOGETHER, 0, media)
        assert asked.a4_hz == 442.0


def test_everything_that_a_reading_shows_is_asked_for_under_a_name_of_its_own():
    """Two parts that look and sound alike share their bytes; different media never do."""
    reading, choir = a_reading(), a_choir()
    kinds = [media for media in Media if media is not Media.ALL_SOUND]
    of_one_part = [
        media_request(reading, choir, Arrangement.TOGETHER, 0, media).digest() for media in kinds
    ]
    assert len(set(of_one_part)) == len(kinds)
    asked = {request.digest() for request in all_requests(reading, choir)}
    assert set(of_one_part) <= asked
