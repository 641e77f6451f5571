"""Text to syllables: the author's marks first, then dictionaries, then a rule of thumb."""

import pytest

from bot.errors import InputProblems
from bot.music.words import Stress
from bot.notation.pronouncing import sung_words


def read(text):
    """Syllables as `LAN-terns glow`: capitals full stress, small none, a dot behind for half."""
    shown = []
    for syllable in sung_words(text).words.syllables:
        full = syllable.stress is Stress.FULL
        text = syllable.text.upper() if full else syllable.text.lower()
        half = "." if syllable.stress is Stress.HALF else ""
        shown.append(text + half + ("-" if syllable.goes_on else ""))
    return " ".join(shown).replace("- ", "-")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Lanterns on the river", "LAN-terns on the RIV-er"),
        ("every evening fire", "EV-ery EVEN-ing FIRE"),
        ("family of dragons", "FAM-i-ly of DRAG-ons"),
        ("jumping and wanted", "JUMP-ing and WANT-ed"),
        ("along the quiet ocean", "a-LONG the QUI-et O-cean"),
        ("the dragon's tail", "the DRAG-on's TAIL"),
        ("the dragon’s tail", "the DRAG-on's TAIL"),
        ("my lantern", "my. LAN-tern"),
        ("higher, laughing mountains", "HIGH-er, LAUGH-ing MOUN-tains"),
        ("didn't, couldn't; don't", "DID-n't, COULD-n't; DON'T"),
        ("the rhythm, prisms", "the RHY-thm, PRIS-ms"),
        ("ev'ry heav'nly pow'r", "EV-'ry HEAV'N-ly POW'R"),
        ("wand'ring, list'ning; o'clock", "WAND-'ring, LIST-'ning; o'-CLOCK"),
        ("'Tis grace, 'twas grace", "'tis GRACE, 'twas GRACE"),
        ("the café", "the ca-FÉ"),
        ("Wait--what", "WAIT— what."),
        ("- sing", "SING"),
    ],
)
def test_words_that_dictionaries_have(text, shown):
    assert read(text) == shown
    assert sung_words(text).guessed == ()


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("^All the _way", "ALL the way"),
        ("lan-^terns", "lan-TERNS"),
        ("ev-er-y fi-re", "EV-er-y FI-re"),
        ("_gold and sil-ver", "gold and SIL-ver"),
        ("merry-go-round", "MER-ry-go.-round."),
        ("_lantern", "lan-tern"),
    ],
)
def test_the_authors_marks_win(text, shown):
    assert read(text) == shown


def test_a_word_that_nobody_knows_is_guessed_and_reported():
    found = sung_words("The snorple met a Snorple and a glimmerfish")
    assert [(guess.word, guess.read_as) for guess in found.guessed] == [
        ("snorple", "^snor-ple"),
        ("Snorple", "^Snor-ple"),
        ("glimmerfish", "^glim-mer-fish"),
    ]
    assert read("The snorple") == "the SNOR-ple"


def test_a_word_that_is_written_with_fewer_syllables_than_it_has_is_reported():
    found = sung_words("rock'n'roll")
    assert [(guess.word, guess.read_as) for guess in found.guessed] == [
        ("rock'n'roll", "^rock'n'roll")
    ]
    assert len(found.words.syllables) == 1
    assert read("rock-'n'-roll") == "ROCK-'n'-ROLL"


def test_signs_cling_to_their_syllables_and_say_where_singers_breathe():
    words = sung_words('"Who\'s there?" we cried, softly — so softly.\nNobody (not one) came').words
    texts = [syllable.under for syllable in words.syllables]
    assert texts[:4] == ["\"Who's", 'there?"', "we", "cried,"]
    assert "(not" in texts
    assert "one)" in texts
    pauses = [syllable.text for syllable in words.syllables if syllable.pause]
    assert pauses == ['there?"', "cried,", "ly", "ly."]
    assert words.line_ends == (9, 15)


def test_lines_end_at_slashes_and_new_lines():
    assert sung_words("one / two\n\nthree /").words.line_ends == (1, 2, 3)


def test_all_that_cannot_be_sung_is_told_at_once_with_its_line():
    with pytest.raises(InputProblems) as caught:
        sung_words("fine / 3 mice & one\n* stars")
    places = [fault.place for fault in caught.value.faults]
    assert places == ["line 2", "line 2", "line 3"]
    with pytest.raises(InputProblems, match="nothing to sing"):
        sung_words("  / ")
