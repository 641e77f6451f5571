"""What a fresh machine gets: the commands of the README, the list that CI runs, the versions."""

import re
import tomllib

from tests.rules.source import REPOSITORY

_PROJECT = tomllib.loads((REPOSITORY / "pyproject.toml").read_text("utf-8"))["project"]
_README = (REPOSITORY / "README.md").read_text("utf-8")
_CONSTRAINTS = (REPOSITORY / "deploy" / "constraints.txt").read_text("utf-8").splitlines()


def distribution(line):
    """The name of a requirement as package indexes compare it."""
    return re.sub(r"[-_.]+", "-", re.match(r"[\w.-]+", line)[0]).lower()


def test_the_readme_has_one_line_that_sets_up_and_runs_every_test():
    lines = [line for line in _README.splitlines() if line.endswith("-m pytest")]
    assert lines == [
        "python3 -m venv .venv && .venv/bin/pip install -c deploy/constraints.txt '.[test]' "
        "&& .venv/bin/python -m pytest"
    ]


def test_the_readme_has_one_line_that_sets_up_and_opens_the_room():
    wanted = "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/riserbell room"
    assert _README.splitlines().count(wanted) == 1


def test_ci_runs_the_readmes_line_and_not_one_of_its_own():
    script = (REPOSITORY / ".ci" / "run").read_text("utf-8")
    assert "grep -- '-m pytest$' README.md" in script
    assert "pip install" not in script
    assert (REPOSITORY / ".ci" / "run").stat().st_mode & 0o111


def test_every_constraint_is_one_exact_version_and_they_stand_in_order():
    lines = [line for line in _CONSTRAINTS if not line.startswith("#")]
    assert [
        line for line in lines if not re.fullmatch(r"[A-Za-z0-9._-]+==[0-9][\w.+]*", line)
    ] == []
    assert lines == sorted(lines, key=str.lower)


def test_everything_that_is_asked_for_has_its_version_fixed():
    asked = _PROJECT["dependencies"] + _PROJECT["optional-dependencies"]["test"]
    fixed = {distribution(line) for line in _CONSTRAINTS if not line.startswith("#")}
    assert {distribution(line) for line in asked} - fixed == set()
