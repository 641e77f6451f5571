"""The serif that a page carries along."""

import io

from fontTools.ttLib import TTFont

from bot.notation.webfont import serif


def test_the_letters_asked_for_are_in_it_and_others_are_not():
    font = TTFont(io.BytesIO(serif("Ab1 ’", "Semibold")))

    assert font.flavor == "woff"
    assert set(font.getBestCmap()) == {ord(letter) for letter in "Ab1 ’"}


def test_it_is_small_and_the_same_on_any_day():
    letters = "".join(chr(code) for code in range(32, 127))

    assert serif(letters) == serif(letters)
    assert len(serif(letters)) < 20_000


def test_a_letter_that_the_serif_lacks_is_left_out():
    assert set(TTFont(io.BytesIO(serif("a歌"))).getBestCmap()) == {ord("a")}
