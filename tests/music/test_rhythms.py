"""A rhythm is drawn letter by letter: the quick look-up gives what a look at every weight gives."""

from collections import Counter
from itertools import accumulate
from random import Random

import pytest

from bot.music.composer import Composer
from bot.music.patterns import Filling
from bot.music.rhythm_weights import MeasureWeights, measure_weight
from bot.music.rhythms import Taken, pick, place_of
from tests.music.levels import FOUR_FOUR, level


def test_running_sums_give_the_place_that_single_weights_give():
    random = Random(1)
    for seed in range(2_000):
        weights = [random.choice((0, 1, 7, 10**40)) for _ in range(random.randrange(8))] + [3]
        factor = random.choice((1, 2, 10**9 + 7, 3**90))
        single = pick([(place, each * factor) for place, each in enumerate(weights)], Random(seed))
        assert place_of([*accumulate(weights)], factor, Random(seed)) == single


class _NothingWorthTaking(Taken):
    """Something seems to be taken out of every rhythm, so that each weight is looked at."""

    def of(self, path):
        return _Nothing(super().of(path))

    def of_group(self, path, adds):
        return _Nothing(super().of_group(path, adds))


class _Nothing(int):
    def __bool__(self):
        return True


@pytest.mark.parametrize("ids", [("p05", "r04"), ("p15", "r16")])
def test_a_rhythm_is_the_same_whether_every_weight_is_looked_at_or_not(ids):
    full = level(*ids)
    frames = Composer(full, full.tones).frames(FOUR_FOUR, 8)
    summed = [frame.rhythms for frame in frames[:: len(frames) // 5] if frame.rhythms.total]
    for rhythms in summed:
        for seed in range(20):
            quick, slow = Random(seed), Random(seed)
            path = rhythms.draw(quick, Taken())
            assert path == rhythms.draw(slow, _NothingWorthTaking())
            assert quick.getstate() == slow.getstate()


def test_what_was_taken_out_does_not_come_again_and_the_rest_keeps_its_proportions():
    full = level("p01", "r01")
    frames = Composer(full, full.tones).frames(None, 4)
    rhythms = next(frame.rhythms for frame in frames if frame.rhythms.total)
    random, taken = Random(2), Taken()
    gone = {rhythms.draw(random, Taken()) for _ in range(3)}
    for path in gone:
        taken.take(rhythms, path, rhythms.weight(path))

    drawn = Counter(rhythms.draw(random, taken) for _ in range(4_000))

    assert gone.isdisjoint(drawn)
    left = rhythms.total - taken.of(())
    for path, times in drawn.most_common(5):
        assert times / 4_000 == pytest.approx(rhythms.weight(path) / left, abs=0.04)


def test_a_measure_weighs_the_same_whatever_was_weighed_before_it():
    cells = tuple(cell for cell in level("p15", "r09").cells if cell.offsets(FOUR_FOUR))
    patterns = Filling(cells, FOUR_FOUR).patterns()[::9]
    asked = [
        (pattern, places) for pattern in patterns for places in ((0,), (4,), (0, 4), (3,), (1, 7))
    ]
    weights = MeasureWeights(8, FOUR_FOUR)
    found = {each: weights.of(*each) for each in Random(4).sample(asked, len(asked))}
    assert all(found[each] == measure_weight(*each, 8, FOUR_FOUR) for each in asked)
    assert all(found[each, (0,)] == found[each, (4,)] for each in patterns)
    assert len(set(found.values())) > len(patterns)
