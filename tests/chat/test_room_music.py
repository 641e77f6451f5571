"""Music at the desk over the real service: looked at, brought, taken along, heard on paper."""

import html
import io
import re

import pypdfium2
import pytest
from aiohttp import FormData

from bot.chat.room import music_routes
from bot.notation.brought import read_music
from bot.notation.midi_write import midi
from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services
from tests.notation.lines import exercise

LETTERS = "KEY F. |d :r !m :r |d :m !s :- |s :f !m :r |d :t_ !d :- ||"
TUNE = exercise("F", "4/4", "0:q 1:q 2:q 1:q 0:w")


@pytest.fixture
async def services(tmp_path):
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        choir = house.a_choir()
        await found.choirs.add(house.replace(choir, voices=choir.voices[:1]))
        yield found


async def _text(response, status=200) -> str:
    text = await response.text()
    assert response.status == status, text
    return text


def _file(data: bytes, name: str, **fields: str) -> FormData:
    form = FormData()
    form.add_field("file", io.BytesIO(data), filename=name)
    for key, value in fields.items():
        form.add_field(key, value)
    return form


def _typed(text: str, **fields: str) -> FormData:
    form = FormData()
    for key, value in {"typed": text, **fields}.items():
        form.add_field(key, value)
    return form


async def test_the_desk_finds_in_letters_what_the_command_line_finds(visitor):
    page = await _text(
        await visitor.post(
            "/desk/choir/c1/check", _typed(LETTERS, criteria="virginia-district-6/1")
        )
    )

    assert "low ti by step" in page
    assert "the tone low ti in measure 4, beat 2" in page
    assert re.search(r"It asks more of a reader than \d+ in a hundred lines", page)
    assert "can sing it as it stands" in page
    assert "It differs from the first event" in page
    assert "official page" in page
    assert page.count("<svg xmlns=") == 2  # for a wide screen and for a phone
    assert "KEY F." in page  # what was typed is still in the box


async def test_a_file_of_any_kind_is_looked_at(visitor):
    page = await _text(await visitor.post("/desk/choir/c1/check", _file(midi(TUNE), "a.mid")))
    assert "A MIDI file does not say how its notes are spelled" in page
    page = await _text(await visitor.post("/desk/choir/c1/check", _file(LETTERS.encode(), "a.txt")))
    assert "low ti by step" in page


async def test_a_midi_file_that_names_no_key_is_read_in_the_one_that_is_typed(visitor):
    keyless = midi(TUNE).replace(b"\xff\x59\x02", b"\xff\x7f\x02")  # a mark of no meaning
    page = await _text(await visitor.post("/desk/choir/c1/check", _file(keyless, "a.mid")), 422)
    assert "it names no key" in page
    form = _file(keyless, "a.mid", key="Dm")
    page = await _text(await visitor.post("/desk/choir/c1/check", form))
    assert "D minor" in page
    form = _file(keyless, "a.mid", key="<i>")
    page = await _text(await visitor.post("/desk/choir/c1/check", form), 422)
    assert "&lt;i&gt; is no key" in page


@pytest.mark.parametrize(
    ("form", "told"),
    [
        (_typed("KEY F. |d :x ||"), "line 1, column 12"),
        (_typed(""), "Choose a file, or type music"),
        (_typed(LETTERS, criteria="<b>"), "no such criteria"),
        (_file(b"\xff\xfe\x00binary", "a.bin"), "neither MusicXML, ABC, MIDI nor text"),
        (_file(b"x" * (2 * 1024 * 1024 + 1), "a.xml"), "larger than 2 MB"),
    ],
    ids=["letters", "nothing", "criterion", "bytes", "large"],
)
async def test_what_cannot_be_looked_at_is_told_with_its_place(visitor, form, told):
    page = await _text(await visitor.post("/desk/choir/c1/check", form), 422)
    assert told in page
    assert "<b>" not in page


@pytest.mark.parametrize("path", ["check", "day/2025-11-25/music"])
async def test_a_file_and_typed_music_at_once_are_asked_about(visitor, services, path):
    both = _file(midi(TUNE), "a.mid", typed=LETTERS)
    page = await _text(await visitor.post(f"/desk/choir/c1/{path}", both), 422)
    assert "Take one of them" in page
    assert "KEY F." in page  # still in the box


async def test_a_file_called_abc_is_told_what_is_wrong_with_its_abc(visitor):
    page = await _text(
        await visitor.post("/desk/choir/c1/check", _file(b"no music at all\n", "a.abc")), 422
    )
    assert "KEY" not in page.split('role="alert"')[1].split("</div>")[0]


async def test_the_curwen_letters_are_read_where_they_are_chosen(visitor):
    text = "KEY F. |d :fe !s :- |d :- !- :- ||"
    await _text(await visitor.post("/desk/choir/c1/check", _typed(text)), 422)
    page = await _text(await visitor.post("/desk/choir/c1/check", _typed(text, dialect="curwen")))
    assert "the tone fi in measure 1, beat 2" in page


async def test_typed_letters_become_the_reading_of_a_day(visitor, services):
    response = await visitor.post("/desk/choir/c1/day/2025-11-25/music", _typed(LETTERS))

    assert response.headers["Location"].startswith("/desk/choir/c1?done=music&day=2025-11-25#")
    page = await _text(await visitor.get("/desk/choir/c1"))
    assert "Your own music" in page
    letters = await visitor.get("/desk/choir/c1/day/2025-11-25/along.letters.txt")
    brought = read_music(await letters.read(), "back").exercise
    assert brought.parts[0].tones() == read_music(LETTERS.encode(), "x").exercise.parts[0].tones()


async def test_a_fault_leaves_what_was_typed_in_the_box(visitor):
    response = await visitor.post("/desk/choir/c1/day/2025-11-25/music", _typed("KEY F. |d :q ||"))
    page = await _text(response, 422)
    assert "line 1, column 12" in page
    assert "KEY F. |d :q ||" in page


async def test_music_from_midi_is_to_be_looked_over(visitor):
    form = _file(midi(TUNE), "my tune.mid")
    response = await visitor.post("/desk/choir/c1/day/2025-11-25/music", form)
    page = await _text(await visitor.get(response.headers["Location"]))
    assert "Your music is the reading for that day." in page
    assert "sharps and flats follow from the key" in page


@pytest.mark.parametrize("kind", ["musicxml", "mid", "abc", "letters.txt"])
async def test_the_line_of_a_day_goes_out_and_can_come_in_again(visitor, kind):
    response = await visitor.get(f"/desk/choir/c1/day/2025-11-25/along.{kind}")
    data = await response.read()
    assert response.status == 200
    assert f'filename="reading-2025-11-25.{kind}"' in response.headers["Content-Disposition"]
    assert read_music(data, kind).exercise.measures in (4, 8)


async def test_pictures_print_braille_and_words_go_out_too(visitor):
    async def get(kind):
        response = await visitor.get(f"/desk/choir/c1/day/2025-11-25/along.{kind}")
        assert response.status == 200
        return await response.read()

    assert (await get("svg")).startswith(b"<svg")
    assert (await get("png")).startswith(b"\x89PNG")
    assert len(pypdfium2.PdfDocument(await get("pdf"))) == 1
    assert (await get("brf")).decode("ascii").endswith("\f")
    assert b"measures" in await get("txt")
    page = await _text(await visitor.get("/desk/choir/c1/day/2025-11-25/along"))
    assert page.count("along.") >= 9
    assert (await visitor.get("/desk/choir/c1/day/2025-11-25/along.exe")).status == 404


async def test_the_hearing_sheet_comes_from_the_desk(visitor):
    page = await _text(await visitor.get("/desk/choir/c1/hearing"))
    assert 'action="/desk/choir/c1/hearing.pdf"' in page
    response = await visitor.get("/desk/choir/c1/hearing.pdf?voice=treble&count=2&seed=7")
    assert response.content_type == "application/pdf"
    assert len(pypdfium2.PdfDocument(await response.read())) == 3
    for query in ("voice=treble&count=0", "voice=bass&count=3", "count=x", "voice=treble&count=61"):
        page = await _text(await visitor.get(f"/desk/choir/c1/hearing.pdf?{query}"), 422)
        assert "from 1 to 60 singers" in page


async def test_a_range_test_is_typed_in_per_part_and_shown_by_month(visitor, services):
    page = await _text(await visitor.get("/desk/choir/c1/ranges"))
    assert 'name="low_treble"' in page
    assert "low_baritone" not in page
    page = await _text(await visitor.post("/desk/choir/c1/ranges", {"low_treble": "Q"}), 422)
    assert "fault" in page
    response = await visitor.post(
        "/desk/choir/c1/ranges", {"low_treble": "C4", "high_treble": "C5"}
    )
    page = await _text(await visitor.get(response.headers["Location"]))
    assert "November 2025" in page
    assert "C4 to C5, Nov 24" in page
    assert (await services.choirs.get("c1")).voices[0].range.high.plain == "C5"


async def test_take_home_sheets_can_have_lines_under_the_notes_of_their_own(visitor):
    page = await _text(await visitor.get("/desk/choir/c1/paper"))
    assert 'name="under" value="syllables"' in page
    plain = await (await visitor.get("/desk/choir/c1/day/2025-11-25/take-home.html")).text()
    other = await visitor.get(
        "/desk/choir/c1/day/2025-11-25/take-home.html?page=own&under=syllables&under=nonsense"
    )
    assert len(await _text(other)) > len(plain) + 1000


async def test_a_day_reads_a_line_inside_a_published_reading(visitor):
    page = await _text(await visitor.get("/desk/choir/c1"))
    assert 'value="florida-middle/2"' in page
    response = await visitor.post(
        "/desk/choir/c1/day/2025-11-25/published", {"criteria": "florida-middle/2"}
    )
    page = await _text(await visitor.get(response.headers["Location"]))
    assert "Florida middle-school all-state: exercise 2" in page
    made = await (await visitor.get("/desk/choir/c1/day/2025-11-25/along.musicxml")).read()
    page = await _text(
        await visitor.post(
            "/desk/choir/c1/check", _file(made, "a.musicxml", criteria="florida-middle/2")
        )
    )
    assert "It is what Florida middle-school all-state asks for" in page
    response = await visitor.post(
        "/desk/choir/c1/day/2025-11-25/published", {"criteria": "nowhere"}
    )
    assert "no such criteria" in await _text(response, 422)


_GAPS = {"choir": "c1", "on": "2025-11-25", "kind": "svg"}
_GAP = re.compile(r"\{(\w+):(?:[^{}]|\{[^{}]*\})*\}")


def _address(path):
    return _GAP.sub(lambda gap: _GAPS[gap[1]], path)


@pytest.mark.parametrize(
    ("method", "path"),
    [
        *(("get", path) for path, _ in music_routes.DESK_PAGES),
        *(("post", path) for path, _ in music_routes.DESK_CHANGES),
    ],
)
async def test_everything_here_is_locked(visitor, services, method, path):
    await services.desk.set_passphrase(house.PASSPHRASE)
    assert (await getattr(visitor, method)(_address(path))).status == 401


@pytest.mark.parametrize("path", [path for path, _ in music_routes.DESK_CHANGES])
async def test_another_site_changes_nothing_here(visitor, services, path):
    before = await services.choirs.get("c1")
    form = {"low_treble": "C4", "high_treble": "C5", "criteria": "maine/8", "typed": LETTERS}
    answer = await visitor.post(
        _address(path), form, headers={"Origin": "https://elsewhere.example"}
    )
    assert answer.status == 403
    assert await services.choirs.get("c1") == before


@pytest.mark.parametrize("path", [path for path, _ in music_routes.DESK_PAGES])
async def test_pages_here_have_no_script_and_no_style_of_their_own(visitor, path):
    response = await visitor.get(_address(path) + "?voice=treble&count=1")
    assert response.status == 200
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert "frame-ancestors 'none'" in response.headers["Content-Security-Policy"]
    if response.content_type == "text/html":
        page = await response.text()
        assert re.findall(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son[a-z]+=", page) == []


async def test_words_go_with_music_that_was_looked_at(visitor):
    words = "KEY F.  |d :r !m :f |s :- !- :- ||\nglow o lan-tern bright"
    page = await _text(await visitor.post("/desk/choir/c1/check", {"typed": words}))
    written = html.unescape(re.search(r'name="written" value="([^"]*)"', page)[1])
    (part,) = read_music(written.encode(), "back").exercise.parts
    assert part.words == ("glow", "o", "lan-", "tern", "bright")


async def test_what_was_looked_at_becomes_the_reading_of_a_day(visitor):
    page = await _text(await visitor.post("/desk/choir/c1/check", _file(midi(TUNE), "a.mid")))
    written = html.unescape(re.search(r'name="written" value="([^"]*)"', page)[1])
    assert '<option value="2025-11-25">' in page
    response = await visitor.post(
        "/desk/choir/c1/check/use", {"written": written, "on": "2025-11-25"}
    )
    assert response.headers["Location"].startswith("/desk/choir/c1?done=music&day=2025-11-25#")
    letters = await visitor.get("/desk/choir/c1/day/2025-11-25/along.mid")
    assert read_music(await letters.read(), "back").exercise == TUNE
    for fields, status in (
        ({"written": "X:1\nnonsense", "on": "2025-11-25"}, 422),
        ({"written": written, "on": "never"}, 404),
    ):
        assert (await visitor.post("/desk/choir/c1/check/use", fields)).status == status
