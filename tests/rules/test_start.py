"""Before anything happens: imports cost little and read nothing, versions agree, content parses."""

import re
import subprocess
import sys
import tomllib

import bot
from bot.service.content import load_content
from bot.settings import content_root
from tests.rules.imports import LIBRARIES, imports
from tests.rules.source import REPOSITORY, modules, plant

_HEAVY = ("music21", "verovio", "resvg_py", "numpy", "soundfile", "aiohttp", "jinja2", "aiosqlite")


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Run Python in a fresh process, which has to succeed."""
    ran = subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, cwd=REPOSITORY
    )
    assert ran.returncode == 0, ran.stderr
    return ran


def test_help_answers_without_loading_anything_heavy():
    ran = run("-X", "importtime", "-m", "bot", "--help")
    loaded = set(re.findall(r"\|\s*(\w+)", ran.stderr))
    assert "usage: riserbell" in ran.stdout
    assert "bot" in loaded
    assert loaded.isdisjoint(_HEAVY)


def test_the_server_asks_for_media_without_loading_the_engravers():
    ran = run("-c", "import bot.media.cache, bot.media.worker, sys; print(*sys.modules)")
    assert set(ran.stdout.split()).isdisjoint({"music21", "verovio", "resvg_py", "numpy"})


_WATCHED = """
import contextlib, importlib, sys, sysconfig
theirs = tuple(sysconfig.get_paths()[name] for name in ("stdlib", "platstdlib", "purelib"))
opened = []

def watch(event, arguments):
    if event in ("socket.connect", "subprocess.Popen"):
        opened.append(event)
    elif event == "open" and not str(arguments[0]).startswith(theirs):
        opened.append(str(arguments[0]))

for name in sys.argv[1].split():
    with contextlib.suppress(ImportError):  # a name in a module rather than a module
        importlib.import_module(name)
sys.addaudithook(watch)
for name in sys.argv[2].split():
    importlib.import_module(name)
print(*[name for name in opened if not name.endswith(".py") and "__pycache__" not in name])
"""


def test_importing_the_program_opens_no_file_but_modules():
    """Settings, content, time zones and data are read when they are asked for.

    What the libraries read when they are imported (lists of media types, of time zones) is theirs,
    so they are imported before the watch begins.
    """
    found = [module for module in modules(REPOSITORY, "bot") if module.path.stem != "__main__"]
    names = {name for module in found for each in imports(module) for name in each.names}
    theirs = sorted(name for name in names if name.partition(".")[0] in LIBRARIES)
    ours = [module.name for module in found]
    assert run("-c", _WATCHED, " ".join(theirs), " ".join(ours)).stdout.split() == []


def test_a_file_that_is_opened_at_import_is_noticed(tmp_path):
    """The watch itself, over a module that reads a file as soon as it is imported."""
    module = "hasty = open('README.md').read()"
    plant(tmp_path, {"hasty.py": module})
    watched = f"import sys; sys.path.insert(0, {str(tmp_path)!r})\n{_WATCHED}"
    assert run("-c", watched, "json", "hasty").stdout.split() == ["README.md"]


def test_pyproject_changelog_and_package_name_one_version():
    project = tomllib.loads((REPOSITORY / "pyproject.toml").read_text("utf-8"))["project"]
    changelog = (REPOSITORY / "CHANGELOG.md").read_text("utf-8")
    newest = re.search(r"^## (\d+\.\d+\.\d+)", changelog, re.MULTILINE)
    assert newest is not None
    assert bot.__version__ == project["version"] == newest[1]


def test_all_content_that_ships_parses():
    content = load_content([content_root()])
    assert content.wording.has("program.name")
    assert content.sequences
