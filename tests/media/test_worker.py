"""The media process: what it makes, and what becomes of the rest when it dies."""

import asyncio
import os
import signal
import subprocess
import sys
import time
from fractions import Fraction
from pathlib import Path

import pytest

from bot.errors import RenderFailed
from bot.media.request import EngravingRequest, KeyGiving, SoundRequest, StartingNote
from bot.media.worker import MediaWorker
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key, Pitch
from bot.music.rhythm import Metre
from bot.music.voice import Clef

_A4 = SoundRequest(sound=StartingNote(pitch=Pitch.parse("A4")))
_LONG = SoundRequest(sound=StartingNote(pitch=Pitch.parse("A4"), seconds=60.0))


def alive(process_id):
    """Whether a process is there and not only waiting to be buried."""
    try:
        status = Path(f"/proc/{process_id}/stat").read_text()
    except (FileNotFoundError, ProcessLookupError):
        return False
    return status.rpartition(")")[2].split()[0] != "Z"


async def until(condition, limit_s=10.0):
    async with asyncio.timeout(limit_s):
        while not condition():  # noqa: ASYNC110 - the system's processes set no event
            await asyncio.sleep(0.005)


async def test_pictures_and_sounds_come_from_one_process_of_its_own():
    note = Note(duration=Fraction(1), tone=Tone(step=0))
    line = Exercise(key=Key.parse("F"), metre=Metre(), parts=(Part(notes=(note,)),))
    async with MediaWorker() as worker:
        picture = await worker.render(EngravingRequest(exercise=line, clefs=(Clef.TREBLE,)))
        first = worker.process_id
        sound = await worker.render(_A4)
        assert picture.startswith(b"\x89PNG")
        assert len(sound) > 10_000
        assert worker.process_id == first != os.getpid()


async def test_the_event_loop_goes_on_while_a_sound_is_made():
    async with MediaWorker() as worker:
        await worker.render(_A4)
        longest = 0.0
        making = asyncio.create_task(worker.render(_LONG))
        while not making.done():
            before = time.monotonic()
            await asyncio.sleep(0.001)
            longest = max(longest, time.monotonic() - before)
        await making
    assert longest < 0.2


async def test_the_process_is_polite():
    async with MediaWorker() as worker:
        await worker.render(_A4)
        assert os.getpriority(os.PRIO_PROCESS, worker.process_id) >= 10


async def test_what_cannot_be_made_is_said_and_the_process_stays():
    wrong = SoundRequest(sound=KeyGiving(key=Key.parse("F"), do=Pitch.parse("G4")))
    async with MediaWorker() as worker:
        with pytest.raises(RenderFailed, match="the do of F major is F"):
            await worker.render(wrong)
        first = worker.process_id
        await worker.render(_A4)
        assert worker.process_id == first


async def test_a_process_that_dies_once_costs_nothing_but_time():
    async with MediaWorker() as worker:
        await worker.render(_A4)
        first = worker.process_id
        making = asyncio.create_task(worker.render(_LONG))
        await asyncio.sleep(0.05)
        os.kill(first, signal.SIGKILL)
        assert len(await making) > 100_000
        assert worker.process_id != first


async def test_a_request_that_kills_twice_fails_and_the_next_one_is_made():
    async with MediaWorker() as worker:
        await worker.render(_A4)
        first = worker.process_id
        making = asyncio.create_task(worker.render(_LONG))
        await asyncio.sleep(0.05)
        os.kill(first, signal.SIGKILL)
        await until(lambda: worker.process_id not in (None, first))
        os.kill(worker.process_id, signal.SIGKILL)
        with pytest.raises(RenderFailed, match="died 2 times"):
            await making
        assert len(await worker.render(_A4)) > 10_000


async def test_a_process_that_died_idle_is_replaced():
    async with MediaWorker() as worker:
        await worker.render(_A4)
        os.kill(worker.process_id, signal.SIGKILL)
        assert len(await worker.render(_A4)) > 10_000


async def test_a_request_that_takes_too_long_is_given_up():
    async with MediaWorker() as worker:
        await worker.render(_A4)
    async with MediaWorker(limit_s=0.01) as worker:
        with pytest.raises(RenderFailed, match=r"longer than 0\.01 s"):
            await worker.render(_LONG)


async def test_a_caller_who_goes_away_does_not_hand_on_the_wrong_bytes():
    async with MediaWorker() as worker:
        short = await worker.render(_A4)
        leaving = asyncio.create_task(worker.render(_LONG))
        await asyncio.sleep(0.05)
        leaving.cancel()
        assert await worker.render(_A4) == short


async def test_nothing_is_left_of_the_process_when_the_worker_closes():
    async with MediaWorker() as worker:
        await worker.render(_A4)
        process_id = worker.process_id
    assert not alive(process_id)
    with pytest.raises(RenderFailed, match="closed"):
        await worker.render(_A4)


async def test_a_cancelled_server_ends_the_process_in_the_middle_of_its_work():
    seen = []

    async def serve():
        async with MediaWorker() as worker:
            await worker.render(_A4)
            seen.append(worker.process_id)
            await worker.render(_LONG)

    serving = asyncio.create_task(serve())
    await until(lambda: seen)
    serving.cancel()
    with pytest.raises(asyncio.CancelledError):
        await serving
    assert not alive(seen[0])


async def test_closing_does_not_wait_for_the_libraries_to_load():
    before = time.monotonic()
    async with MediaWorker() as worker:
        await until(lambda: worker.process_id)
    assert time.monotonic() - before < 1.0


_SERVER = """
import asyncio, signal
from bot.media.request import SoundRequest, StartingNote
from bot.media.worker import MediaWorker
from bot.music.pitch import Pitch

async def main():
    async with MediaWorker() as worker:
        await worker.render(SoundRequest(sound=StartingNote(pitch=Pitch.parse("A4"))))
        print(worker.process_id, flush=True)
        await asyncio.sleep(60)

if __name__ == "__main__":
    # What a shell starts in the background inherits that interrupts are ignored.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    asyncio.run(main())
"""


@pytest.fixture
def server(tmp_path):
    """A server in a process group of its own, with its media process's id."""
    script = tmp_path / "server.py"
    script.write_text(_SERVER)
    with subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as process:
        yield process, int(process.stdout.readline())
        process.kill()


async def test_an_interrupt_from_the_keyboard_ends_both_without_a_word_from_the_process(server):
    process, media = server
    os.killpg(process.pid, signal.SIGINT)
    _, said = await asyncio.to_thread(process.communicate, timeout=20)
    assert "KeyboardInterrupt" in said  # the server's own; it has no handler here
    assert "child.py" not in said
    assert "riserbell-media" not in said
    await until(lambda: not alive(media))


async def test_a_stop_that_reaches_all_processes_leaves_the_media_process_to_the_server(server):
    process, media = server
    os.kill(media, signal.SIGTERM)
    os.kill(media, signal.SIGINT)
    await asyncio.sleep(0.3)
    assert alive(media)
    assert process.poll() is None


async def test_a_server_that_is_killed_leaves_no_process_behind(server):
    process, media = server
    process.kill()
    await until(lambda: not alive(media))
