"""Before anything happens: imports cost little and read nothing, versions agree, content parses."""

import json
import re
import subprocess
import sys
import tomllib

import bot
from bot.service.content import load_content
from bot.settings import content_root
from tests.rules.source import REPOSITORY, modules

_HEAVY = ("music21", "verovio", "resvg_py", "numpy", "soundfile", "aiohttp", "jinja2", "aiosqlite")

_LOADED = "import json, sys; print(json.dumps(sorted(sys.modules)))"


def loaded_after(script: str) -> set[str]:
    """Names of the modules that a fresh process holds after running a script."""
    ran = subprocess.run(
        [sys.executable, "-c", f"{script}\n{_LOADED}"],
        capture_output=True,
        check=True,
        text=True,
        cwd=REPOSITORY,
    )
    return set(json.loads(ran.stdout.splitlines()[-1]))


def test_help_answers_without_loading_anything_heavy():
    ran = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "bot", "--help"],
        capture_output=True,
        check=True,
        text=True,
        cwd=REPOSITORY,
    )
    loaded = set(re.findall(r"\|\s*(\w+)", ran.stderr))
    assert "usage: riserbell" in ran.stdout
    assert "bot" in loaded
    assert loaded.isdisjoint(_HEAVY)


def test_the_server_asks_for_media_without_loading_the_engravers():
    loaded = loaded_after("import bot.media.cache, bot.media.worker")
    assert loaded.isdisjoint({"music21", "verovio", "resvg_py", "numpy", "soundfile"})


def test_importing_the_program_opens_no_file_but_its_own_modules():
    names = [module.name for module in modules(REPOSITORY, "bot") if module.path.stem != "__main__"]
    libraries = ["aiohttp", "aiosqlite", "babel.dates", "fontTools.ttLib", "jinja2", "msgspec"]
    libraries += ["music21", "numpy", "platformdirs", "resvg_py", "soundfile", "verovio"]
    script = f"""
import importlib, sys
for name in {libraries}:
    importlib.import_module(name)
opened = []
def watch(event, arguments):
    if event in ("open", "socket.connect", "subprocess.Popen"):
        opened.append(str(arguments[0]))
sys.addaudithook(watch)
for name in {names}:
    importlib.import_module(name)
strange = [n for n in opened if not n.endswith((".py", ".pyc", ".so")) and "pycache" not in n]
assert not strange, strange
"""
    assert "bot.cli" in loaded_after(script)


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
