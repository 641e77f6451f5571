"""Music that an author brings to a story: letters, ABC, a file beside it, and what is wrong."""

import pytest

from bot.errors import InputProblems
from bot.music.pitch import Key
from bot.music.voice import Clef
from bot.notation.write import musicxml
from bot.service.content import load_content
from bot.service.story_checking import check_loaded
from bot.service.story_files import load_story, story_of, written_music
from tests.fakes.world import CONTENT

_CONTENT = load_content([CONTENT])
_LETTERS = "KEY F. |d :r !m :f |s :- !m :- |f :m !r :r |d :- !- :- ||"
_ABC = "X:1\\nM:4/4\\nL:1/4\\nK:F\\nF G A B | c2 A2 | B A G G | F4 |]"


@pytest.fixture
def brought(tmp_path):
    """Write a story whose opening has music of the author's own; load it."""

    def write(row, sing=""):
        text = (CONTENT / "stories" / "example" / "the-gate.toml").read_text("utf-8")
        line = text[text.index('sing = "Garden') :].splitlines()[0]
        own = "\n".join(filter(None, [sing and f'sing = "{sing}"', row]))
        file = tmp_path / "gate.toml"
        file.write_text(text.replace(line, own), "utf-8")
        return load_story(file)

    return write


def faults(loaded):
    with pytest.raises(InputProblems) as caught:
        written_music(loaded)
    return [str(fault) for fault in caught.value.faults]


def _place(loaded, start):
    lines = loaded.text.splitlines()
    number = next(n for n, line in enumerate(lines, 1) if line.startswith(start))
    return f"{loaded.file}:{number}"


def test_letters_abc_and_a_file_are_the_same_line(brought, tmp_path):
    letters = written_music(brought(f'letters = "{_LETTERS}"'))["gate"]
    (tmp_path / "own.musicxml").write_bytes(musicxml(letters, clefs=(Clef.TREBLE,)))

    abc = written_music(brought(f'abc = "{_ABC}"'))["gate"]
    from_file = written_music(brought('file = "own.musicxml"'))["gate"]

    assert letters.key == Key.parse("F")
    assert letters.fingerprint() == abc.fingerprint() == from_file.fingerprint()


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        ('letters = "KEY F. |d :x ||"', "letters"),
        ('abc = "no music"', "abc"),
        ('file = "missing.musicxml"', "no file missing.musicxml"),
        ('file = "../gate.toml"', "no file ../gate.toml"),
        ('file = "gate.toml"', "gate.toml"),
    ],
)
def test_music_that_cannot_be_read_is_told_at_its_line(brought, row, problem):
    loaded = brought(row)

    found = faults(loaded)

    assert found
    assert all(each.startswith(_place(loaded, row.split(" ")[0])) for each in found)
    assert any(problem in each for each in found)


def test_words_to_own_music_are_one_a_note_and_keep_their_stress(brought):
    row = f'letters = "{_LETTERS}"'

    short = check_loaded(brought(row, sing="Far too few"), _CONTENT)
    bent = check_loaded(brought(row, sing="The garden gate is open to us all now"), _CONTENT)
    sound = check_loaded(brought(row, sing="Garden gate and garden wall, open now, all"), _CONTENT)

    assert [each.fault.problem for each in short.findings] == ["3 syllables for 11 notes"]
    assert not short.sound
    assert any("stresses 'garden' otherwise" in each.fault.problem for each in bent.findings)
    assert all(each.warning for each in bent.findings)
    assert sound.sound


def test_a_story_that_there_is_not_names_those_there_are():
    with pytest.raises(InputProblems, match=r"no such story .there are: lost-tuesday"):
        story_of(_CONTENT, "nothing")


def test_a_file_that_is_no_text_or_too_large_is_refused(tmp_path):
    (tmp_path / "a.toml").write_bytes(b"\xff\xfe")
    (tmp_path / "b.toml").write_bytes(b"#" * 300_000)

    with pytest.raises(InputProblems, match="is not UTF-8"):
        load_story(tmp_path / "a.toml")
    with pytest.raises(InputProblems, match="larger than 256 KiB"):
        load_story(tmp_path / "b.toml")
