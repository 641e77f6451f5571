"""Content folders: the director's own overlays the program's, and every fault is told at once."""

import pytest

from bot.errors import InputProblems
from bot.service.content import load_content
from tests.fakes.world import CONTENT

BASE = """
[board]
empty = "Nothing is up, {choir}."
[board.lines]
one = "One line"
other = "{count} lines"
"""


def folder(path, texts, **sequences):
    (path / "wording" / "en").mkdir(parents=True)
    (path / "wording" / "en" / "all.toml").write_text(texts, encoding="utf-8")
    for name, text in sequences.items():
        (path / "sequences").mkdir(exist_ok=True)
        (path / "sequences" / f"{name}.toml").write_text(text, encoding="utf-8")
    return path


def test_the_programs_own_content_is_sound():
    content = load_content([CONTENT])

    assert "steps-first" in content.sequences
    assert content.wording("program.name") == "Riserbell"


def test_a_directors_sentence_takes_the_place_of_ours(tmp_path):
    base = folder(tmp_path / "base", BASE)
    own = folder(tmp_path / "own", '[board]\nempty = "{choir}: soon."')

    content = load_content([base, own])

    assert content.wording("board.empty", choir="A") == "A: soon."
    assert content.wording("board.lines", count=2) == "2 lines"


def test_a_missing_folder_overlays_nothing(tmp_path):
    base = folder(tmp_path / "base", BASE)

    assert load_content([base, tmp_path / "nowhere"]).wording("board.empty", choir="A")


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ('[board]\nemtpy = "x"', "there is no such text"),
        ('[board]\nempty = "{class}"', "the gap {class} is never filled here"),
        ('[board]\nlines = "lines"', "plural forms differ"),
    ],
)
def test_a_sentence_that_could_not_be_said_is_refused(tmp_path, text, problem):
    base = folder(tmp_path / "base", BASE)
    own = folder(tmp_path / "own", text)

    with pytest.raises(InputProblems) as caught:
        load_content([base, own])

    assert problem in str(caught.value)
    assert str(own) in caught.value.faults[0].place


def test_faults_of_all_files_come_together(tmp_path):
    base = folder(tmp_path / "base", "[board\n", first="nonsense", second="id = 3")

    with pytest.raises(InputProblems) as caught:
        load_content([base])

    places = " ".join(fault.place for fault in caught.value.faults)
    assert "all.toml" in places
    assert "first.toml" in places
    assert "second.toml" in places


def test_a_file_that_is_no_text_is_named(tmp_path):
    base = folder(tmp_path / "base", BASE)
    (base / "wording" / "en" / "all.toml").write_bytes(b"\xff\xfe\x00")

    with pytest.raises(InputProblems, match="UTF-8"):
        load_content([base])


def test_content_without_wording_is_no_content(tmp_path):
    with pytest.raises(InputProblems, match="no such file"):
        load_content([tmp_path])
