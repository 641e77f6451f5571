"""A command whose reader has gone, as behind `| head`, ends without a word."""

import os
import subprocess
import sys

from bot.cli import READER_GONE


def test_a_command_whose_reader_has_gone_says_nothing(tmp_path):
    read, write = os.pipe()
    os.close(read)
    with os.fdopen(write, "wb") as pipe:
        command = [sys.executable, "-m", "bot", "criteria", "--data", str(tmp_path)]
        ended = subprocess.run(command, stdout=pipe, stderr=subprocess.PIPE, check=False)
    assert (ended.returncode, ended.stderr) == (READER_GONE, b"")
