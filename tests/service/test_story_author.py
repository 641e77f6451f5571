"""An author's way on the command line: new, check, map, preview, paper, and what each says."""

import json

import pypdfium2
import pytest

from bot.cli import main

_SMALL = "the-gate.toml"


@pytest.fixture
def new_story(tmp_path, capsys):
    file = tmp_path / _SMALL
    assert main(["story", "new", str(file)]) == 0
    capsys.readouterr()
    return file


def run(*arguments, capsys):
    code = main(["story", *map(str, arguments)])
    out, err = capsys.readouterr()
    return code, out, err


def test_a_new_story_is_sound_and_never_written_over(new_story, capsys):
    code, out, _ = run("check", new_story, capsys=capsys)

    assert code == 0
    assert out.startswith("The gate in the garden wall: sound. 3 scenes, 2 endings, 2 ways")
    code, _, err = run("new", new_story, capsys=capsys)
    assert code == 2
    assert "is there already" in err


def test_faults_are_lines_with_file_and_line_and_the_code_is_2(new_story, capsys):
    text = new_story.read_text("utf-8")
    text = text.replace('next = "well"', 'next = "wel"').replace("Garden gate", "Garden 8 gate")
    text = text.replace("Say hello to", "Steal the key of")
    new_story.write_text(text, "utf-8")
    lines = text.splitlines()
    at = {word: number for number, line in enumerate(lines, 1) for word in line.split()}

    code, out, _ = run("check", new_story, capsys=capsys)

    assert code == 2
    places = [row.split(": ", 1)[0] for row in out.splitlines()]
    assert places == sorted(places, key=lambda place: int(place.rpartition(":")[2]))
    assert all(place.startswith(f"{new_story}:") for place in places)
    assert f"{new_story}:{at['8']}: " in out
    assert "leads to 'wel', which is no scene" in out
    assert "no path leads to 'well'" in out
    assert "warning: 'steal' in a vote may touch on illegal" in out


def test_check_as_json_has_figures_and_faults(new_story, capsys):
    code, out, _ = run("check", new_story, "--json", capsys=capsys)
    tree = json.loads(out)

    assert code == 0
    assert tree["scenes"] == 3
    assert tree["endings"] == ["frog", "well"]
    assert tree["paths"] == 2
    assert tree["voices"] == ["treble"]
    assert tree["keys"] == ["F"]
    assert 4 < tree["minutes"][0] <= tree["minutes"][1] < 8
    assert tree["faults"] == []

    new_story.write_text(new_story.read_text("utf-8").replace("format = 1", "format = 9"), "utf-8")
    code, out, _ = run("check", new_story, "--json", capsys=capsys)
    assert code == 2
    assert json.loads(out)["faults"][0]["problem"] == "format is 9"


def test_check_with_music_composes_the_story_and_tells_what_stands_in_the_way(new_story, capsys):
    code, out, _ = run("check", new_story, "--music", capsys=capsys)
    assert code == 0
    assert "sound" in out

    text = new_story.read_text("utf-8").replace("Garden gate and garden wall", "gate " * 19)
    new_story.write_text(text, "utf-8")
    at = next(n for n, line in enumerate(text.splitlines(), 1) if line.startswith('sing = "gate'))
    code, out, _ = run("check", new_story, "--music", capsys=capsys)
    assert code == 2
    assert out.startswith(f"{new_story}:{at}: ")


def test_a_word_that_no_dictionary_has_is_a_warning(new_story, capsys):
    text = new_story.read_text("utf-8").replace("Frog upon", "Zwibblefrog")
    new_story.write_text(text, "utf-8")

    code, out, _ = run("check", new_story, capsys=capsys)

    assert code == 0
    assert "warning: no dictionary has 'Zwibblefrog'" in out


def test_a_name_that_is_no_story_says_which_there_are(capsys):
    code, out, _ = run("check", "the-new-wheel", capsys=capsys)

    assert code == 2
    assert "no such story" in out
    assert "the-old-wheel" in out


def test_the_map_is_drawn_as_svg_and_png(new_story, tmp_path, capsys):
    for name, start in (("map.svg", b"<svg "), ("map.png", b"\x89PNG")):
        code, out, _ = run("map", new_story, "--out", tmp_path / name, capsys=capsys)
        assert code == 0
        assert out.strip().endswith(name)
        assert (tmp_path / name).read_bytes().startswith(start)


def test_preview_and_paper_of_a_story(new_story, tmp_path, capsys):
    code, out, _ = run("preview", new_story, "--out", tmp_path / "look", capsys=capsys)

    assert code == 0
    names = [line.rpartition("/")[2] for line in out.splitlines()]
    assert names[:4] == ["map.svg", "line-gate.png", "line-frog.png", "line-well.png"]
    assert [name.split("-")[1] for name in names[4:]] == ["frog", "well"]

    code, _, _ = run("pdf", new_story, "--out", tmp_path / "gate.pdf", capsys=capsys)
    assert code == 0
    pages = pypdfium2.PdfDocument(tmp_path / "gate.pdf")
    texts = [page.get_textpage().get_text_bounded() for page in pages]
    assert len(texts) == 5  # three scenes, two ends
    assert "mi: Say hello to the frog (scene 2)" in texts[0]
    assert "Garden gate and garden wall, is there anyone at all?" in texts[2]


def test_an_unsound_story_is_not_composed(new_story, tmp_path, capsys):
    text = new_story.read_text("utf-8").replace('next = "well"', 'next = "wel"')
    new_story.write_text(text, "utf-8")

    code, _, err = run("html", new_story, "--out", tmp_path / "gate.html", capsys=capsys)

    assert code == 2
    assert "which is no scene" in err
    assert not (tmp_path / "gate.html").exists()
