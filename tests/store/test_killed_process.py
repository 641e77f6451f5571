"""A process that is killed outright: nothing acknowledged is lost, nothing half done is kept."""

import subprocess
import sys
from pathlib import Path

from bot.store.desk import passphrase_hash
from bot.store.folder import open_database

_CHILD = """
import asyncio, os, signal, sys
from pathlib import Path
from bot.store.desk import keep_passphrase_hash
from bot.store.folder import open_database

async def main():
    async with open_database(Path(sys.argv[1]), born="test") as database:
        async with database.transaction() as change:
            await keep_passphrase_hash(change, "acknowledged")
        print("acknowledged", flush=True)
        async with database.transaction() as change:
            await keep_passphrase_hash(change, "half done")
            os.kill(os.getpid(), signal.SIGKILL)

asyncio.run(main())
"""


async def test_a_killed_process_loses_only_what_it_had_not_finished(tmp_path):
    child = subprocess.run(  # noqa: ASYNC221 - nothing else runs here meanwhile
        [sys.executable, "-c", _CHILD, str(tmp_path)],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=False,
    )

    async with (
        open_database(tmp_path, born="test") as database,
        database.snapshot() as read,
    ):
        kept = await passphrase_hash(read)

    assert child.returncode == -9, child.stderr
    assert child.stdout == "acknowledged\n"
    assert kept == "acknowledged"
