"""Tables of parts that are kept: the same lines as without, one room a plan, no more than fit."""

from dataclasses import replace

from bot.activities.choir import Steps
from bot.activities.match_sides import Heads
from bot.music.ensemble import Room
from bot.music.parts import LAYS, PART_RANGES, lines_together
from bot.music.pitch import Key
from bot.music.texture import Texture
from bot.music.voice import Voice
from bot.service.match_values import MatchWish
from bot.service.part_tables import PartTables, plan_hash
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import SIX, open_world
from tests.music.levels import level, steps_first

_RANGES = PART_RANGES[Voice.TREBLE, 2]


def way_of(step):
    """How the parts of a voice step are laid out."""
    return LAYS[Texture(level(step).texture)][::-1]


def _lines(ids, seed, rooms, key=None):
    return lines_together(steps_first(), level(*ids.split()), _RANGES, key, seed=seed, rooms=rooms)


def test_lines_are_the_same_with_kept_tables_and_without():
    tables = PartTables()
    rooms = []
    for seed in (1, 2, 1):
        kept = _lines("p04 v02", seed, tables.room)
        assert kept == _lines("p04 v02", seed, Room)
        rooms.append(tables.room(kept.plan, *way_of("v02")))
    assert rooms[0] is rooms[1] is rooms[2]
    assert tables.bytes > 10_000


def test_other_steps_have_other_tables():
    tables = PartTables()
    first = _lines("p04 v02", 1, tables.room).plan
    before = len(tables)
    second = _lines("p05 v02", 1, tables.room).plan
    assert len(tables) > before
    assert plan_hash(first) != plan_hash(second)


def test_a_plan_has_one_hash_whenever_it_is_made():
    again = [_lines("p04 v02", seed, Room).plan for seed in (1, 2)]
    assert plan_hash(again[0]) == plan_hash(again[1])
    assert len(plan_hash(again[0])) == 32


def test_a_hash_tells_releases_apart_and_all_that_tables_are_made_of(monkeypatch):
    plan = _lines("p05 r04 v02", 1, Room).plan
    line, *rest = plan.lines
    rules = replace(line.level.rules, equal_notes=line.level.rules.equal_notes + 1)
    changed = [
        replace(line, tones=line.tones[:-1]),
        replace(line, do_octaves=(line.do_octaves[0] + 1,)),
        replace(line, level=replace(line.level, rules=rules)),
        replace(line, level=replace(line.level, skips=frozenset())),
        replace(line, level=replace(line.level, rhythm_focus=None)),
        replace(line, level=replace(line.level, cells=line.level.cells[:-1])),
    ]
    others = [replace(plan, lines=(each, *rest)) for each in changed]
    others += [replace(plan, shared=not plan.shared), replace(plan, key=Key.parse("Ab"))]
    here = plan_hash(plan)
    assert len({here, *map(plan_hash, others)}) == 1 + len(others)
    monkeypatch.setattr("bot.service.part_tables.__version__", "another")
    assert plan_hash(plan) != here


def test_what_was_not_used_for_longest_goes_first():
    tables = PartTables(most_bytes=1)
    _lines("p04 v02", 1, tables.room)
    _lines("p05 v02", 1, tables.room)
    assert len(tables) == 1


def test_canons_are_kept_too_and_are_the_same():
    tables, ids = PartTables(), ["p05", "v03"]
    for seed in (1, 2):
        kept, fresh = (
            lines_together(steps_first(), level(*ids), _RANGES, seed=seed, **more)
            for more in ({"canons": tables.canons}, {})
        )
        assert kept == fresh
    assert len(tables) == 1
    assert tables.canons(kept.plan) is tables.canons(kept.plan)
    assert tables.bytes > 10_000


async def test_all_that_composes_for_choirs_shares_the_tables(tmp_path):
    steps = Steps(pitch="p05", rhythm="r02", voice="v02")
    async with open_world(tmp_path, FakeClock(SIX)) as world:
        await world.services.choirs.add(a_choir(steps=steps, measures=4))
        tables = world.assembly.composing.tables
        await world.services.papers.subs.draw("choir-1")
        below = len(tables)
        assert below > 0
        await world.assembly.composing.ensure("choir-1", MONDAY)
        own = len(tables)
        assert own > below
        wish = MatchWish(heads=(Heads(label="Part I", count=9),), measures=4, turns=1)
        await world.services.matches.set_up("choir-1", wish)
        assert len(tables) == own
