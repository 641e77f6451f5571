"""Every way of taking an exercise along, read again by this program and looked at by others."""

import io
import zipfile
from dataclasses import replace
from fractions import Fraction

import mido
import pypdfium2
import pytest

from bot.cli import main
from bot.errors import InputProblems, Refused
from bot.media.render import make
from bot.music.page_options import PageOptions, Under
from bot.music.voice import Clef
from bot.notation.brought import read_music, read_written
from bot.service.content import load_content
from bot.service.export import TYPES, Format, Page, request_for
from bot.service.export import export as export_drawn
from tests.fakes.world import CONTENT
from tests.notation.lines import exercise

ONE = exercise("F", "4/4", "0:q 1:q 2:e 3:e 2:q 4:h r:q 3+:q 4:w 1:qd 0:e 0:h")
PICKUP = exercise("Bb", "3/4", "-3:q 0:q 1:q 2:q 4:hd 2:h", pickup=Fraction(1, 4))
TWO = exercise("G", "4/4", "4:q 4:q 4:h 2:w", "2:q 0:q 0:h 0:w")
MINOR = exercise("D minor", "4/4", "-2:q 0:q 2:q 1:q 0:q -1:q -2:h")
READABLE = (Format.MUSICXML, Format.ABC, Format.LETTERS, Format.MIDI)


@pytest.fixture(scope="module")
def say():
    return load_content([CONTENT]).wording


def export(shown, kind, say):
    wanted = request_for(shown, kind)
    return export_drawn(shown, kind, say, None if wanted is None else make(wanted))


def page(made, **more):
    parts = len(made.parts)
    labels = tuple(f"Part {'I' * (n + 1)}" for n in range(parts)) if parts > 1 else ()
    return Page(exercise=made, clefs=(Clef.TREBLE,) * parts, labels=labels, **more)


@pytest.mark.parametrize("made", [ONE, PICKUP, TWO, MINOR], ids=["one", "pickup", "two", "minor"])
@pytest.mark.parametrize("kind", READABLE)
def test_what_goes_out_comes_in_again(made, kind, say):
    brought = read_music(export(page(made), kind, say), f"made.{kind}")
    assert brought.exercise == made
    assert brought.notices == (("formats.midi.spelling",) if kind is Format.MIDI else ())


def test_what_is_a_format_is_told_by_its_bytes_not_by_its_name(say):
    midi = export(page(ONE), Format.MIDI, say)
    assert read_music(midi, "tune.musicxml").exercise == ONE
    assert len(mido.MidiFile(file=io.BytesIO(midi)).tracks) == 2


def test_compressed_musicxml_is_read_too(say):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        container = '<container><rootfiles><rootfile full-path="a.xml"/></rootfiles></container>'
        archive.writestr("META-INF/container.xml", container)
        archive.writestr("a.xml", export(page(PICKUP), Format.MUSICXML, say))
    assert read_music(packed.getvalue(), "a.mxl").exercise == PICKUP


def test_a_title_comes_along(say):
    abc = export(page(ONE, title="A walk"), Format.ABC, say)
    assert read_music(abc, "x.abc").title == "A walk"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("KEY F. |d :r !m :x ||", "line 1, column 18"),
        ("KEY F. |d :r !m ||", "measure 1"),
        ("X:1\nM:4/4\nL:1/4\nK:F\nFGA?|]", "typed, line 5"),
        ("nothing of the kind", "KEY"),
    ],
)
def test_what_was_typed_wrongly_is_told_with_its_place(text, told):
    with pytest.raises(InputProblems) as problems:
        read_written(text, "typed")
    assert any(told in str(fault) for fault in problems.value.faults), problems.value.faults


def test_bytes_that_are_no_music_are_refused():
    for data in (b"\x89PNG\r\n\x1a\n\xff", b"", b"MThd", b"<html></html>", b"\xff" * 300):
        with pytest.raises(InputProblems):
            read_music(data, "x")
    with pytest.raises(InputProblems, match="2 MiB"):
        read_music(b"x" * (2 * 1024 * 1024 + 1), "x")


def test_the_print_shows_the_page(say):
    data = export(page(ONE, title="A walk"), Format.PDF, say)
    (sheet,) = pypdfium2.PdfDocument(data)
    grey = sheet.render(scale=1).to_numpy().min(axis=2)
    assert (grey < 96).sum() > 1000


def test_braille_is_ascii_and_the_text_alternative_tells_every_note(say):
    braille = export(page(TWO, title="Très bien"), Format.BRAILLE, say).decode("ascii")
    assert braille.endswith("\f")
    assert ",TRES BIEN" in braille
    text = export(page(TWO), Format.TEXT, say).decode()
    assert text.count("G major") == 2
    assert [line.split(".")[0] for line in text.splitlines()] == ["Part I", "Part II"]


def test_letters_refuse_what_they_cannot_hold(say):
    fine = exercise("C", "4/4", "0:1/32 1:1/32 2:1/16 3:1/8 0:hd")
    with pytest.raises(Refused) as refusal:
        export(page(fine), Format.LETTERS, say)
    assert refusal.value.key == "formats.letters.length"
    assert say(refusal.value.key, **refusal.value.values)


def test_every_format_has_a_type_and_options_shape_the_pictures_alone(say):
    assert set(TYPES) == set(Format)
    under = replace(page(ONE), options=PageOptions(under=(Under.SYLLABLES,)))
    assert export(under, Format.SVG, say) != export(page(ONE), Format.SVG, say)
    assert export(under, Format.MIDI, say) == export(page(ONE), Format.MIDI, say)


def test_the_command_writes_six_files_and_those_that_are_asked_for(tmp_path, capsys):
    wish = ["compose", "--step", "p05,r04", "--voice", "treble", "--seed", "3"]
    six = {"reading.png", "reading.svg", "reading.musicxml", "reading.txt", "key.mp3", "pitch.mp3"}
    assert main([*wish, "--out", str(tmp_path / "six")]) == 0
    assert {path.name for path in (tmp_path / "six").iterdir()} == six
    more = ["--format", "mid,letters,brf,pdf,abc", "--under", "syllables,rhythm", "--large"]
    assert main([*wish, *more, "--out", str(tmp_path / "more")]) == 0
    names = {path.name for path in (tmp_path / "more").iterdir()}
    assert names - six == {f"reading.{end}" for end in ("mid", "letters.txt", "brf", "pdf", "abc")}
    music = {
        read_music((tmp_path / "more" / name).read_bytes(), name).exercise
        for name in ("reading.musicxml", "reading.mid", "reading.letters.txt", "reading.abc")
    }
    assert len(music) == 1
    capsys.readouterr()
    with pytest.raises(SystemExit):
        main([*wish, "--format", "docx", "--out", str(tmp_path)])
    assert "'docx' is none of mid, abc, letters, brf, pdf" in capsys.readouterr().err
