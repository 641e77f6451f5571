"""The traditional tunes that ship: what a musician would sing, from the file to the words."""

import pytest

from bot.music.solfa import Solfa
from bot.notation.engrave import svg
from bot.notation.picture import note_boxes
from bot.notation.read import music_from_musicxml
from bot.notation.words import summary
from bot.notation.write import musicxml
from tests.notation.lines import REPOSITORY, english

FOLDER = REPOSITORY / "content" / "tunes"
SUNG = {
    "frere-jacques": (
        "F major, 4/4, 8 measures",
        "do re mi do do re mi do mi fa so mi fa so "
        "so la so fa mi do so la so fa mi do do so do do so do",
    ),
    "ah-vous-dirai-je-maman": (
        "D major, 4/4, 12 measures",
        "do do so so la la so fa fa mi mi re re do so so fa fa mi mi re so so fa fa mi mi re "
        "do do so so la la so fa fa mi mi re re do",
    ),
}  # fmt: skip


def tune(name):
    return music_from_musicxml((FOLDER / f"{name}.musicxml").read_bytes(), name)


def test_every_tune_in_the_folder_is_known_here_and_has_its_source():
    sources = (REPOSITORY / "content" / "SOURCES.md").read_text(encoding="utf-8")
    files = sorted(path.name for path in FOLDER.glob("*.musicxml"))
    assert files == sorted(f"{name}.musicxml" for name in SUNG)
    assert all(f"`{file}`" in sources for file in files)


@pytest.mark.parametrize("name", SUNG)
def test_a_tune_is_read_as_it_is_sung(name):
    made = tune(name).exercise
    told, syllables = SUNG[name]
    names = [Solfa().name(tone, made.key) for tone in made.parts[0].tones()]
    assert (summary(made, english()), " ".join(names)) == (told, syllables)
    assert tune(name).left_out == ()


@pytest.mark.parametrize("name", SUNG)
def test_a_tune_comes_through_a_file_and_onto_the_page_note_for_note(name):
    music = tune(name)
    written = musicxml(music.exercise, clefs=music.clefs)
    assert music_from_musicxml(written, name).exercise == music.exercise
    assert len(note_boxes(svg(written))) == len(music.exercise.parts[0].notes)
