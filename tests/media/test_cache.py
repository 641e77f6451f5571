"""Media on disk: made once, checked when read, gone in order."""

import asyncio
import stat

import pytest

from bot.errors import RenderFailed
from bot.media.cache import MediaCache
from bot.media.request import SoundRequest, StartingNote
from bot.music.pitch import Pitch

# A stored file is a checksum of 32 bytes and the bytes.
_ROOM_FOR_TWO = 2 * (32 + 100)


def note(name):
    return SoundRequest(sound=StartingNote(pitch=Pitch.parse(name)))


class Renderer:
    """Counts what it is asked for and answers with a hundred bytes, or not at all."""

    def __init__(self):
        self.asked = []
        self.go_on = asyncio.Event()
        self.go_on.set()
        self.broken = False

    async def render(self, request):
        self.asked.append(request)
        await self.go_on.wait()
        if self.broken:
            raise RenderFailed("no ink")
        return f"{request.sound.pitch} ".encode().ljust(100, b".")


@pytest.fixture
def renderer():
    return Renderer()


@pytest.fixture
def cache(tmp_path, renderer):
    return MediaCache(tmp_path / "media", renderer, limit_bytes=_ROOM_FOR_TWO)


async def test_what_was_made_is_kept(cache, renderer):
    first = await cache.get_or_make(note("A4"))
    second = await cache.get_or_make(note("A4"))
    assert first == second == b"A4 ".ljust(100, b".")
    assert len(renderer.asked) == 1


async def test_ten_callers_at_once_cost_one_rendering(cache, renderer):
    renderer.go_on.clear()
    callers = [asyncio.create_task(cache.get_or_make(note("A4"))) for _ in range(10)]
    await asyncio.sleep(0.05)
    renderer.go_on.set()
    assert len(set(await asyncio.gather(*callers))) == 1
    assert len(renderer.asked) == 1


async def test_a_caller_who_goes_away_takes_nothing_from_the_others(cache, renderer):
    renderer.go_on.clear()
    leaving = asyncio.create_task(cache.get_or_make(note("A4")))
    staying = asyncio.create_task(cache.get_or_make(note("A4")))
    await asyncio.sleep(0.05)
    leaving.cancel()
    renderer.go_on.set()
    assert (await staying).startswith(b"A4")
    assert len(renderer.asked) == 1


async def test_what_was_made_outlives_the_process(cache, renderer, tmp_path):
    await cache.get_or_make(note("A4"))
    later = MediaCache(tmp_path / "media", renderer)
    assert (await later.get_or_make(note("A4"))).startswith(b"A4")
    assert len(renderer.asked) == 1


@pytest.mark.parametrize(
    "harm",
    [
        lambda file: file.write_bytes(file.read_bytes()[:-1]),
        lambda file: file.write_bytes(file.read_bytes()[:10]),
        lambda file: file.write_bytes(b""),
        lambda file: file.write_bytes(file.read_bytes().replace(b"A4", b"B4")),
        lambda file: file.unlink(),
    ],
    ids=["short by a byte", "short of its checksum", "empty", "altered", "gone"],
)
async def test_a_damaged_file_is_made_anew(cache, renderer, tmp_path, harm):
    whole = await cache.get_or_make(note("A4"))
    (file,) = (tmp_path / "media").iterdir()
    harm(file)
    assert await cache.get_or_make(note("A4")) == whole
    assert len(renderer.asked) == 2
    assert await cache.get_or_make(note("A4")) == whole
    assert len(renderer.asked) == 2


async def test_the_longest_unused_goes_first(cache, renderer):
    await cache.get_or_make(note("A4"))
    await cache.get_or_make(note("B4"))
    await cache.get_or_make(note("A4"))
    await cache.get_or_make(note("C5"))  # no room for three: B4 goes

    renderer.asked.clear()
    await cache.get_or_make(note("A4"))
    await cache.get_or_make(note("C5"))
    assert renderer.asked == []
    await cache.get_or_make(note("B4"))
    assert renderer.asked == [note("B4")]


async def test_the_folder_stays_within_its_limit(cache, tmp_path):
    names = [f"{letter}{octave}" for octave in (3, 4) for letter in "CDEFGAB"]
    await asyncio.gather(*(cache.get_or_make(note(name)) for name in names))
    assert sum(file.stat().st_size for file in (tmp_path / "media").iterdir()) <= _ROOM_FOR_TWO


async def test_files_of_an_earlier_run_count_towards_the_limit(renderer, tmp_path):
    before = MediaCache(tmp_path / "media", renderer)
    for name in ("C4", "D4", "E4", "F4"):
        await before.get_or_make(note(name))
    after = MediaCache(tmp_path / "media", renderer, limit_bytes=_ROOM_FOR_TWO)
    await after.get_or_make(note("G4"))
    assert len(list((tmp_path / "media").iterdir())) == 2


async def test_what_cannot_be_made_is_not_kept_and_tried_again(cache, renderer, tmp_path):
    renderer.broken = True
    with pytest.raises(RenderFailed, match="no ink"):
        await cache.get_or_make(note("A4"))
    assert list((tmp_path / "media").iterdir()) == []
    renderer.broken = False
    assert (await cache.get_or_make(note("A4"))).startswith(b"A4")


async def test_a_full_disk_costs_the_cache_and_not_the_caller(cache, monkeypatch, caplog):
    def full(*_arguments, **_options):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tempfile.mkstemp", full)
    assert (await cache.get_or_make(note("A4"))).startswith(b"A4")
    assert "No space left" in caplog.text


async def test_only_the_owner_reads_the_folder(cache, tmp_path):
    (tmp_path / "media").mkdir(mode=0o755)
    await cache.get_or_make(note("A4"))
    assert stat.S_IMODE((tmp_path / "media").stat().st_mode) == 0o700


async def test_what_a_crash_left_half_written_is_swept_up(cache, tmp_path):
    (tmp_path / "media").mkdir()
    (tmp_path / "media" / "tmpabc.part").write_bytes(b"half")
    (tmp_path / "media" / "a note of somebody").write_bytes(b"mine")
    await cache.get_or_make(note("A4"))
    names = {file.name for file in (tmp_path / "media").iterdir()}
    assert names == {note("A4").digest(), "a note of somebody"}
