"""One line over one rhythm: drawn exactly, by rejection, and by CP-SAT.

Rejection walks from tone to tone by what the step allows and asks the checker at the end. CP-SAT
solves the very chain of choices that the exact sum goes over, tone after tone, with another seed
each time. It is run where `ortools` can be imported (`pip install '.[bench]'`), and left out with a
word elsewhere.
"""

from __future__ import annotations

import time
from importlib.util import find_spec
from random import Random
from statistics import median
from typing import Any

from bot.music.checker import check
from bot.music.composer import Composer
from bot.music.drawing import Unread
from bot.music.exercise import Exercise, Part, Tone
from bot.music.level import Level
from bot.music.lines import FreeLines
from bot.music.patterns import Pattern
from bot.music.pitch import Key
from bot.music.rhythms import Taken
from bot.music.skeleton import skeleton_of
from bot.music.written import notes_of
from tests.music.levels import FOUR_FOUR, level

_STEPS = ("p04 r02", "p06 r04")
_DRAWS, _SOLVED, _REJECTING_S, _SOLVING_S = 200, 12, 5.0, 10.0
_KEY = Key.parse("F")


def run() -> dict[str, float]:
    """Medians in seconds for a line of eight measures of 4/4 over one rhythm, tables ready."""
    figures: dict[str, float] = {}
    for ids in _STEPS:
        figures |= _step(ids)
    return figures


def _step(ids: str) -> dict[str, float]:
    full = level(*ids.split())
    composer = Composer(full, full.tones)
    frames = composer.frames(FOUR_FOUR, 8, pickups=False)
    frame = next(f for f in frames if not f.form.copied and f.rhythms.total)
    measures = frame.line(frame.rhythms.draw(Random(1), Taken()))
    free = composer.ground(FOUR_FOUR, 8).kept_free
    skeleton = skeleton_of(measures, new_cells=free, lie=frame.lie)
    lines = FreeLines(composer.messages(8), skeleton)
    unread, random = Unread(lines), Random(2)
    figures = {f"{ids}: an exact draw": _median(lambda: unread.draw(random), _DRAWS)}
    accepted, tried, took = _reject(full, measures, skeleton.notes)
    print(f"  {ids}, rejection: {accepted} of {tried} walks are lines of the step, {took:.1f} s")
    told = "" if accepted else " (none came)"
    figures[f"{ids}: rejection, a line{told}"] = took / max(accepted, 1)
    if find_spec("ortools") is None:
        print("  CP-SAT: ortools is not installed, so it is left out")
        return figures
    solved = _solve(lines)
    print(f"  {ids}, CP-SAT: {len({line for _, line in solved})} different lines in {len(solved)}")
    figures[f"{ids}: CP-SAT, a line"] = median(seconds for seconds, _ in solved)
    return figures


def _reject(full: Level, measures: tuple[Pattern, ...], notes: int) -> tuple[int, int, float]:
    """Walks until time is over; how many were lines of the step, of how many, in how long."""
    follow = {
        tone: [other for other in full.tones if _may(full, tone, other)] for tone in full.tones
    }
    random, accepted, tried = Random(3), 0, 0
    start = time.perf_counter()
    while time.perf_counter() - start < _REJECTING_S:
        sung = [random.choice(full.conditions.start)]
        while len(sung) < notes:
            sung.append(random.choice(follow[sung[-1]]))
        tried += 1
        part = Part(notes=notes_of(measures, sung))
        accepted += not check(Exercise(key=_KEY, metre=FOUR_FOUR, parts=(part,)), full, None)
    return accepted, tried, time.perf_counter() - start


def _may(full: Level, one: Tone, other: Tone) -> bool:
    return abs(one.step - other.step) <= 1 or (min(one, other), max(one, other)) in full.skips


def _solve(lines: FreeLines) -> list[tuple[float, tuple[int, ...]]]:
    """Seconds and line of each solution, until there are enough or time is over."""
    from ortools.sat.python import cp_model  # type: ignore[import-not-found,unused-ignore]

    tables, tones = _tables(lines)
    model: Any = cp_model.CpModel()
    states = [
        model.new_int_var(0, max(len(names) - 1, 0), f"s{note}") for note, names in enumerate(tones)
    ]
    for note, pairs in enumerate(tables):
        model.add_allowed_assignments(states[note : note + 2], pairs)
    found: list[tuple[float, tuple[int, ...]]] = []
    begun = time.perf_counter()
    while len(found) < _SOLVED and time.perf_counter() - begun < _SOLVING_S:
        solver: Any = cp_model.CpSolver()
        solver.parameters.random_seed = len(found)
        solver.parameters.num_workers = 1
        solver.parameters.randomize_search = True
        start = time.perf_counter()
        solver.solve(model)
        took = time.perf_counter() - start
        line = tuple(tones[note][solver.value(state)] for note, state in enumerate(states))
        found.append((took, line[1:]))
    return found


def _tables(lines: FreeLines) -> tuple[list[list[tuple[int, int]]], list[list[int]]]:
    """The moves from note to note between numbered states, and the tone of each state."""
    here: dict[object, int] = {lines.root: 0}
    tables: list[list[tuple[int, int]]] = []
    tones = [[-1]]
    while True:
        after: dict[object, int] = {}
        names: list[int] = []
        pairs: list[tuple[int, int]] = []
        for state, number in here.items():
            assert isinstance(state, tuple)
            for label, _, to in lines.choices(state):
                key = (to, label)
                if key not in after:
                    after[key] = len(after)
                    assert isinstance(label, int)
                    names.append(label)
                pairs.append((number, after[key]))
        if not pairs:
            return tables, tones
        tables.append(pairs)
        tones.append(names)
        here = _by_state(after)


def _by_state(after: dict[object, int]) -> dict[object, int]:
    """Numbers by the state alone: the label that led to a state is settled by it."""
    found: dict[object, int] = {}
    for key, number in after.items():
        assert isinstance(key, tuple)
        assert key[0] not in found, "one state, two tones"
        found[key[0]] = number
    return found


def _median(work: Any, times: int) -> float:
    took = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        took.append(time.perf_counter() - start)
    return median(took)
