"""`riserbell pack`, as it is typed: files on the disk, or one clear sentence."""

import asyncio
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pypdfium2
import pytest

from bot.activities.choir import Hearing
from bot.store.choirs import add_choir
from bot.store.folder import lock, open_database
from tests.chat import house


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A school's data folder with one choir that meets every weekday."""
    folder = tmp_path_factory.mktemp("data")

    async def plant() -> None:
        choir = house.a_choir(name="Period 3", hearing=Hearing.NEVER)
        async with open_database(folder) as database, database.transaction() as change:
            first = house.replace(choir, voices=choir.voices[:1])
            await add_choir(change, house.replace(first, zone="UTC"), date(2025, 9, 1))

    asyncio.run(plant())
    return folder


def _pack(data: Path, out: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    line = [sys.executable, "-m", "bot", "pack", "--data", str(data), "--out", str(out)]
    return subprocess.run([*line, *arguments], capture_output=True, text=True, timeout=120)


def test_a_week_to_come_is_packed_as_page_print_and_large_print(data, tmp_path):
    today = datetime.now(UTC).date()
    monday = today + timedelta(days=7 - today.weekday())

    done = _pack(data, tmp_path / "out", "--choir", "period 3", "--week", str(monday))

    assert done.returncode == 0, done.stderr
    names = [f"take-home-{monday}{end}" for end in (".html", ".pdf", "-large.pdf")]
    ways = [f"other-ways-{monday}{end}" for end in (".pdf", "-large.pdf")]
    assert [Path(line).name for line in done.stdout.splitlines()] == [*names, *ways]
    assert (tmp_path / "out" / names[0]).read_text(encoding="utf-8").count("<article") == 5
    document = pypdfium2.PdfDocument(tmp_path / "out" / names[1])
    assert len(document) in range(5, 11)
    assert "Period 3" in document[0].get_textpage().get_text_range()
    document.close()
    plain, large = (pypdfium2.PdfDocument(tmp_path / "out" / way) for way in ways)
    assert len(large) > len(plain) >= 10  # a page a day, then its answer
    assert plain[0].get_size() == (612, 792)


def test_one_reading_is_packed_by_itself(data, tmp_path):
    today = datetime.now(UTC).date()
    tuesday = today + timedelta(days=8 - today.weekday())

    done = _pack(data, tmp_path, "--choir", "Period 3", "--day", str(tuesday), "--paper", "a4")

    assert done.returncode == 0, done.stderr
    names = [f"take-home-{tuesday}{end}" for end in (".html", ".pdf", "-large.pdf")]
    ways = [f"other-ways-{tuesday}{end}" for end in (".pdf", "-large.pdf")]
    assert [Path(line).name for line in done.stdout.splitlines()] == [*names, *ways]
    for name in (*names[1:], *ways):
        assert pypdfium2.PdfDocument(tmp_path / name)[0].get_size() == pytest.approx(
            (595, 842), abs=1
        )
    page = (tmp_path / names[0]).read_text(encoding="utf-8")
    assert page.count("<article") == 1
    assert "The week of" not in page


@pytest.mark.long
def test_a_folder_for_a_substitute_is_the_same_when_packed_again(data, tmp_path):
    first = _pack(data, tmp_path / "a", "--choir", "Period 3", "--sub")
    again = _pack(data, tmp_path / "b", "--choir", "Period 3", "--sub")

    assert first.returncode == again.returncode == 0, first.stderr + again.stderr
    for name in ("substitute.html", "substitute.pdf", "substitute-large.pdf"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


def test_beside_a_running_room_it_refuses_and_says_where_to_go(data, tmp_path):
    with lock(data):
        done = _pack(data, tmp_path / "out", "--choir", "Period 3")

    assert done.returncode == 2
    assert done.stderr.startswith("riserbell: Riserbell is running on this data.")
    assert "desk" in done.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--choir", "Nobody"), "There is no choir named “Nobody”. The choirs are: Period 3."),
        (("--choir", "Period 3", "--week", "2024-01-01"), "there is nothing to read"),
        (("--choir", "Period 3", "--week", "soon"), "is no date"),
        (("--choir", "Period 3", "--week", "2026-01-01", "--sub"), "not allowed with"),
    ],
)
def test_what_cannot_be_packed_is_one_clear_line(data, tmp_path, arguments, told):
    done = _pack(data, tmp_path / "out", *arguments)

    assert done.returncode == 2
    assert told in done.stderr
    assert len(done.stderr.splitlines()) == 1
