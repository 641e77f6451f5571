"""The table of steps: what parts read at each pitch step, which voices cannot be at the top."""

from dataclasses import replace

from bot.music.pitch import Key
from bot.music.sequence import Track
from bot.music.step_table import every_level, part_fits, step_table
from bot.music.voice import DEFAULT_RANGES, Voice
from tests.music.levels import steps_first

_KEYS = (Key.parse("C"), Key.parse("F"))


def test_the_table_says_at_every_pitch_step_what_each_part_reads():
    order = steps_first()
    levels = list(every_level(order, order.step("v07")))
    assert [each.steps[0] for each in levels] == [each.id for each in order.track(Track.PITCH)]
    fits = {fit.pitch: fit for fit in part_fits(order, levels, [Voice.CHANGING])}
    assert fits["p09"].reads == ("p07", "p07")
    assert fits["p13"].reads == ("p13", "p13")
    assert fits["p16"].refusal.key == "refusal.each_others"
    assert fits["p09"].tree()["reads"] == ["p07", "p07"]
    assert next(every_level(order, order.step("v06"))).steps[0] == "p09"


def test_what_was_found_at_a_level_holds_for_another_order_with_the_same_steps():
    order, known = steps_first(), {}
    few = tuple(step for step in order.steps if step.id in ("p01", "p02", "r01", "v01", "v07"))
    one, other = replace(order, steps=few), replace(order, steps=few, id="other")
    first, again = (step_table(each, DEFAULT_RANGES, _KEYS, known=known) for each in (one, other))
    assert all(a.fits is b.fits for a, b in zip(first, again, strict=True))
    trees = [[fit.tree() for fit in row.fits] for row in again]
    apart = step_table(other, DEFAULT_RANGES, _KEYS)
    assert trees == [[fit.tree() for fit in row.fits] for row in apart]


def test_the_table_says_which_voices_cannot_be_at_the_top():
    sequence = steps_first()
    short = replace(sequence, steps=tuple(s for s in sequence.steps if s.id != "v06"))
    table = step_table(short, DEFAULT_RANGES, keys=())
    rows = {
        row.step.id: {fit.voices[0]: fit.refusal for fit in row.fits} for row in table if row.fits
    }
    for step in ("v02", "v03", "v04", "v07", "v08"):
        assert rows[step][Voice.TREBLE] is None
        assert rows[step][Voice.CHANGING] is None
        assert rows[step][Voice.BARITONE].key == "refusal.voice_parts"
