"""The wheel holds all that the program needs, and finds it where no checkout is."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from bot.settings import content_root

_REPOSITORY = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory):
    """The wheel, built from this checkout and unpacked where only it can be found."""
    built = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(built)],
        cwd=_REPOSITORY,
        check=True,
        capture_output=True,
    )
    (wheel,) = built.glob("*.whl")
    site = tmp_path_factory.mktemp("site")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)
    return site


def run(site, folder, *arguments):
    """Run Python where `bot` can only come from the unpacked wheel."""
    ran = subprocess.run(
        [sys.executable, "-P", *arguments],
        env={**os.environ, "PYTHONPATH": str(site)},
        cwd=folder,
        capture_output=True,
        text=True,
    )
    assert ran.returncode == 0, ran.stderr
    return ran.stdout


def test_an_installed_program_finds_its_content_in_the_package(unpacked, tmp_path):
    found = run(
        unpacked, tmp_path, "-c", "from bot import settings; print(settings.content_root())"
    )
    assert Path(found.strip()) == unpacked / "bot" / "_content"


def test_a_checkout_finds_its_content_beside_the_package():
    assert content_root() == _REPOSITORY / "content"


def test_the_wheel_carries_every_file_of_the_content(unpacked):
    there = {
        path.relative_to(unpacked / "bot" / "_content") for path in files(unpacked / "bot/_content")
    }
    assert there == {
        path.relative_to(_REPOSITORY / "content") for path in files(_REPOSITORY / "content")
    }


def test_the_wheel_carries_templates_scripts_and_migrations(unpacked):
    """Whatever lies beside the modules is needed at run time."""
    here = {path.relative_to(_REPOSITORY) for path in files(_REPOSITORY / "bot")}
    there = {path.relative_to(unpacked) for path in files(unpacked / "bot")}
    assert here - there == set()


def test_an_installed_program_lists_its_steps(unpacked, tmp_path):
    listed = run(unpacked, tmp_path, "-m", "bot", "steps", "--data", str(tmp_path))
    assert "p01" in listed


def files(folder):
    """All files under a folder but what Python leaves behind."""
    return [
        path for path in folder.rglob("*") if path.is_file() and "__pycache__" not in path.parts
    ]
