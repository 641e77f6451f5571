"""Parts: a first exercise, tables, one more rhythm, a draw; two parts by rejection and by CP-SAT.

Frames come as often as a choir meets them, so that only those are summed which a draw would sum.

The comparison is on one rhythm of the step of thirds and sixths, without a newest tone. CP-SAT
solves the very table of joint moves that the sum goes over. It is run where `ortools` can be
imported (`pip install '.[bench]'`), and left out with a word elsewhere.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from importlib.util import find_spec
from itertools import islice
from random import Random
from statistics import median
from typing import Any, NamedTuple

from bot.music.check_parts import PartRules, check_parts
from bot.music.drawing import Unread
from bot.music.ensemble import Room
from bot.music.exercise import Exercise
from bot.music.frames import Frame
from bot.music.joint_draw import Score, Setting
from bot.music.joint_lines import JointLines
from bot.music.lines import FreeLines
from bot.music.part_plans import part_plans
from bot.music.parts import LAYS, PART_RANGES, part_lines
from bot.music.rhythms import Taken, pick
from bot.music.skeleton import skeleton_of
from bot.music.texture import parts_needed, texture_of
from bot.music.voice import Voice
from tests.music.levels import FOUR_FOUR, level, steps_first

_STEPS = ("p05 v02", "p05 v04", "p09 r09 v05", "p09 v06", "p15 v04", "p15 v06", "p19 v06")
_DRAWS, _RHYTHMS, _SOLVED, _REJECTING_S = 60, 4, 6, 5.0


def run() -> dict[str, float]:
    """Medians in seconds on eight measures of 4/4, a treble voice at the top."""
    figures: dict[str, float] = {}
    for ids in _STEPS:
        figures |= _step(ids)
    return figures | _compared("p05 v04")


class _Found(NamedTuple):
    """A room with a frame and a rhythm over which there are parts, and the time to find it."""

    room: Room
    frame: Frame
    setting: Setting
    seconds: float


def _step(ids: str) -> dict[str, float]:
    whole = _first_exercise(ids)
    room, frame, setting, first = _find(ids)
    more = (frame.rhythms.draw(Random(seed), Taken()) for seed in range(100, 200))
    random = Random(1)
    unread = Unread(setting.lines)
    return {
        f"{ids}: a first exercise, plans and tables and all": whole,
        f"{ids}: tables and first rhythm": first,
        f"{ids}: messages of one more rhythm": _median(
            lambda: room.setting(frame, next(more)), _RHYTHMS
        ),
        f"{ids}: a draw": _median(lambda: unread.draw(random), _DRAWS),
        f"{ids}: tables [MB]": room.bytes / 1e6,
    }


def _first_exercise(ids: str) -> float:
    """Seconds until a choir that is new at a step has its first exercise."""
    full = level(*ids.split())
    ranges = PART_RANGES[Voice.TREBLE, parts_needed(texture_of(full))]
    start = time.perf_counter()
    part_lines(steps_first(), full, ranges, metre=FOUR_FOUR, measures=8, seed=1)
    return time.perf_counter() - start


def _find(ids: str, *, free: bool = False) -> _Found:
    """The best plan that has parts, in its first frame that has; `free` without a newest thing."""
    full = level(*ids.split())
    if free:
        full = replace(full, pitch_focus=None, rhythm_focus=None)
    texture = texture_of(full)
    ranges = PART_RANGES[Voice.TREBLE, parts_needed(texture)]
    lay, manner = LAYS[texture]
    for plan in part_plans(steps_first(), full, ranges, None):
        start = time.perf_counter()
        room = Room(plan, manner, lay)
        frames = room.frames(FOUR_FOUR, 8)
        random = Random(1)
        for _ in range(_RHYTHMS):
            frame = pick([(each, each.share) for each in frames], random)
            if not frame.rhythms.total:
                continue
            setting = room.setting(frame, frame.rhythms.draw(random, Taken()))
            if setting.lines.total:
                return _Found(room, frame, setting, time.perf_counter() - start)
    raise AssertionError(f"no parts at {ids}")


def _compared(ids: str) -> dict[str, float]:
    room, frame, setting, _ = _find(ids, free=True)
    lines = setting.lines
    assert isinstance(lines, JointLines)
    random = Random(2)
    unread = Unread(lines)
    exact = _median(lambda: unread.draw(random), _DRAWS)
    figures = {f"{ids}, no focus: an exact draw": exact}
    accepted, tried, took = _reject(room, frame, setting)
    print(f"  rejection: {accepted} of {tried} pairs of lines go together, {took:.1f} s")
    each = took / max(accepted, 1)  # at least, where none was accepted
    figures[f"{ids}, no focus: rejection, a setting{'' if accepted else ' (none came)'}"] = each
    if find_spec("ortools") is None:
        print("  CP-SAT: ortools is not installed, so it is left out")
        return figures
    seconds, distinct = _solve(lines)
    print(f"  CP-SAT: {distinct} different settings in {_SOLVED}")
    figures[f"{ids}, no focus: CP-SAT, a setting"] = seconds
    return figures


def _reject(room: Room, frame: Frame, setting: Setting) -> tuple[int, int, float]:
    """Both lines drawn alone over the rhythm until time is over; how many pairs were right."""
    singles = []
    for side, measures in zip(room.sides(frame.measures), setting.measures, strict=True):
        singles.append(Unread(FreeLines(side.messages, skeleton_of(measures, lie=frame.lie))))
    score: Score = room.score
    random, accepted, tried = Random(3), 0, 0
    start = time.perf_counter()
    while time.perf_counter() - start < _REJECTING_S:
        rows = [single.draw(random) for single in singles]
        exercise: Exercise = score.of_rows(setting, rows)
        tried += 1
        accepted += not check_parts(exercise, PartRules(chain=4))
    return accepted, tried, time.perf_counter() - start


def _solve(lines: JointLines) -> tuple[float, int]:
    """CP-SAT on the table of joint moves, chains of thirds without their limit.

    Returns the median in seconds, and how many settings were different.
    """
    from ortools.sat.python import cp_model  # type: ignore[import-not-found,unused-ignore]

    model: Any = cp_model.CpModel()
    tables = _moves(lines)
    size = max(max(pair) for pairs in tables for pair in pairs)
    states = [model.new_int_var(0, size, f"s{n}") for n in range(len(tables) + 1)]
    model.add(states[0] == 0)
    for number, pairs in enumerate(tables):
        model.add_allowed_assignments(states[number : number + 2], pairs)
    took, found = [], set()
    for seed in range(_SOLVED):
        solver: Any = cp_model.CpSolver()
        solver.parameters.random_seed = seed
        solver.parameters.num_workers = 1
        solver.parameters.randomize_search = True
        start = time.perf_counter()
        solver.solve(model)
        took.append(time.perf_counter() - start)
        found.add(tuple(solver.value(state) for state in states))
    return median(took), len(found)


def _moves(lines: JointLines) -> list[list[tuple[int, int]]]:
    """For each slice the numbers of the contexts between which some setting moves."""
    now, known, tables = {lines.root}, {lines.root.contexts: 0}, []
    while True:
        moves = [(state, after) for state in now for _, _, after in lines.choices(state)]
        if not moves:
            return tables
        led: dict[tuple[int, ...], int] = {}
        pairs = set()
        for before, after in moves:
            contexts = after.contexts  # type: ignore[attr-defined]
            pairs.add((known[before.contexts], led.setdefault(contexts, len(led))))
        tables.append(sorted(pairs))
        now, known = {after for _, after in moves}, led  # type: ignore[misc]


def _median(work: Callable[[], object], times: int) -> float:
    took = []
    for _ in islice(iter(int, 1), times):
        start = time.perf_counter()
        work()
        took.append(time.perf_counter() - start)
    return median(took)
