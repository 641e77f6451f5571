"""Sums over arcs and blocks: the same as going over every edge between two states, one by one."""

from collections import defaultdict
from dataclasses import replace
from itertools import product
from math import prod

import numpy as np
import pytest

from bot.music.against import FixedSide
from bot.music.blocks import Blocks
from bot.music.companion import companion_level
from bot.music.ensemble import heights
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.joint import Joint
from bot.music.joint_lines import JointLines
from bot.music.patterns import Filling
from bot.music.pitch import Key
from bot.music.side import Side
from bot.music.slices import folded, slices_of
from bot.music.sounding import Chain, Moved, Singer, factors, kind_of
from bot.music.voice_leading import Manner
from tests.music.levels import TWO_FOUR, cut, level

_KEY = Key.parse("F")
_DO, _MI = Tone(step=0), Tone(step=2)
_HIGH, _LOW = tuple(Tone(step=s) for s in range(5)), tuple(Tone(step=s) for s in range(-1, 4))


def edge_by_edge(joint, slices, bound=None):
    """How many settings there are and their weight, summed forwards over every edge."""
    start = (bound or 0, *[0] * (len(joint.sides) - 1))
    now = {(start, joint.rows[-1 - (joint.manner.chain or 0)]): (1, 1.0)}
    for slice_, before in zip(slices, [None, *slices[:-1]], strict=True):
        edges_from, after = _edges(joint, slice_, before), defaultdict(lambda: (0, 0.0))
        for (contexts, row), (count, weight) in now.items():
            for to, hits, chain, factor in edges_from(contexts):
                led = _row(joint, row, hits, chain)
                if led is not None:
                    counted, weighed = after[to, led]
                    after[to, led] = counted + count, weighed + weight * factor
        now = after
    ends = [
        both
        for (contexts, (*needed, _)), both in now.items()
        if not any(needed) and (bound is None or contexts[-1] == bound)
    ]
    return sum(count for count, _ in ends), sum(weight for _, weight in ends)


def _edges(joint, slice_, before):
    """Every edge from given contexts into a slice: to where, who hits, the chain, its weight."""
    kind = kind_of(slice_, before)
    sizes = [len(side.tones) for side in joint.sides]
    moves = [Moved(np.repeat(np.arange(n), n), np.tile(np.arange(n), n)) for n in sizes]
    tones = [side.tones for side in joint.sides]
    table, chain = factors(kind, tones, moves, joint.castings, joint.manner)
    rows = [defaultdict(list) for _ in sizes]
    for number, (side, stroke) in enumerate(zip(joint.sides, slice_.strokes, strict=True)):
        ways = side.ways(stroke)
        weights = side.weights(stroke, slice_.struck[number])
        for source, *way in zip(*ways[:5], weights, strict=True):
            rows[number][source].append(way)

    def edges_from(contexts):
        for chosen in product(*(row[at] for row, at in zip(rows, contexts, strict=True))):
            cell = tuple(way[1] * size + way[2] for way, size in zip(chosen, sizes, strict=True))
            weight = table[cell] * prod(way[4] for way in chosen)
            if weight > 0.0:
                to = tuple(int(way[0]) for way in chosen)
                yield to, [int(way[3]) for way in chosen], Chain(int(chain[cell])), weight

    return edges_from


def _row(joint, row, hits, move):
    """What is still needed after a move, None where the chain grows too long."""
    *needed, chain = row
    hits = hits if len(needed) == len(hits) and not joint.shared else [sum(hits)]
    if joint.manner.chain is not None:
        chain = {Chain.BROKEN: 0, Chain.LONGER: chain + 1, Chain.KEPT: chain}[move]
        if chain > joint.manner.chain:
            return None
    return (*(max(n - hit, 0) for n, hit in zip(needed, hits, strict=True)), chain)


def _full(focus):
    full = cut(level("p05", "r02"), "q", "h", equal_notes=2)
    found = replace(full.pitch_focus, count=2, tones=frozenset({_MI})) if focus else None
    return replace(full, pitch_focus=found, rhythm_focus=None)


def _side(tones, end, hits=0):
    full = _full(hits)
    return Side(companion_level(full, tones, end, full), tones, hits)


def _rhythm(text):
    patterns = Filling(_full(0).cells, TWO_FOUR).patterns()
    written = {" ".join(cell.text for cell in pattern.cells): pattern for pattern in patterns}
    return [written[measure.strip()] for measure in text.split("|")]


def _joint(sides, octaves, manner, shared=None):
    singers = [
        Singer(number, heights(_KEY, side.tones, octave))
        for number, (side, octave) in enumerate(zip(sides, octaves, strict=True))
    ]
    return Joint(sides, [singers], manner, shared)


def _slices(*rhythms):
    measures = [_rhythm(rhythm) for rhythm in rhythms]
    return slices_of(TWO_FOUR, measures, [frozenset()] * len(rhythms))


def _fixed():
    steps = (0, 1, 0, 1, 0, 0, 0)
    notes = [Note(duration=TWO_FOUR.measure / 2, tone=Tone(step=step)) for step in steps]
    notes[-1] = Note(duration=TWO_FOUR.measure, tone=_DO)
    return FixedSide(Exercise(key=_KEY, metre=TWO_FOUR, parts=(Part(notes=tuple(notes)),)))


def _case(name):
    high = _side(_HIGH, _DO)
    match name:
        case "each its newest, chains":
            sides = [_side(_HIGH, _DO, 1), _side(_LOW, _MI, 1)]
            joint = _joint(sides, (4, 4), Manner(chain=2, crossing=0.5))
            return joint, _slices("q q | h | q q | h", "q q | h | q q | h"), None
        case "newest between them, one holds on":
            sides = [_side(_HIGH, _MI, 2), _side(_LOW, _DO, 2)]
            slices = _slices("q q | q q | q q | h", "h | q q | h | h")
            return _joint(sides, (4, 4), Manner(chain=3), shared=2), slices, None
        case "three":
            third = tuple(Tone(step=step) for step in (0, 2, 3, 4))
            sides = [_side(_HIGH, _MI), _side(_LOW[:4], _DO), _side(third, _DO)]
            slices = _slices(*["h | h | h | h"] * 3)
            return _joint(sides, (4, 4, 3), Manner(full=True)), slices, None
        case "against a line":
            slices = _slices("q q | h | q q | h", "q q | q q | q q | h")
            return _joint([high, _fixed()], (4, 4), Manner(crossing=0.5)), slices, None
        case "one line in two halves":
            slices = folded(TWO_FOUR, _rhythm("q q | h | q q | h"), frozenset())
            return _joint([high, high], (4, 4), Manner(crossing=1.0), shared=0), slices, 21
    raise ValueError(name)


_CASES = (
    "each its newest, chains",
    "newest between them, one holds on",
    "three",
    "against a line",
    "one line in two halves",
)


@pytest.mark.parametrize("name", _CASES)
def test_the_sum_is_that_of_all_edges_one_by_one(name):
    joint, slices, bound = _case(name)
    lines = JointLines(joint, slices, bound=bound)
    count, weight = edge_by_edge(joint, slices, bound)
    assert lines.size == count > 3
    assert lines.total == pytest.approx(weight, rel=1e-12)


def test_a_second_rhythm_uses_the_tables_of_the_first():
    joint, slices, _ = _case("three")
    first = JointLines(joint, slices).total
    size = joint.bytes
    assert size > 0
    assert JointLines(joint, slices).total == first
    assert joint.bytes == size


@pytest.mark.parametrize("lead", [0, 1, 2])
def test_blocks_number_each_tuple_once_and_lay_the_leading_part_out(lead):
    sizes = [np.array([2, 3]), np.array([1, 0, 2]), np.array([3, 1])]
    chosen = [(0, 0, 1), (0, 2, 0), (1, 0, 0), (1, 1, 0)]
    blocks = Blocks(chosen, sizes, lead)
    numbers = [blocks.of(block) for block in chosen]
    assert sorted(np.concatenate([each.ravel() for each in numbers])) == list(range(blocks.size))
    assert blocks.size == 2 * 1 * 1 + 2 * 2 * 3 + 3 * 1 * 3 + 0
    for chunk in blocks.chunks:
        inside = [n for block, n in zip(chosen, numbers, strict=True) if block[lead] == chunk.tone]
        for thing in range(chunk.things):
            led = np.concatenate([np.take(n, thing, axis=lead).ravel() for n in inside])
            first = chunk.begin + thing * chunk.beside
            assert sorted(led) == list(range(first, first + chunk.beside))
    nowhere = blocks.numbers([np.array(0), np.array(1), np.array(0)], [np.array(0)] * 3)
    assert nowhere == blocks.size
