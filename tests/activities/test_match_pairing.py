"""Pairs as equal as can be: valid, bettered by no single change, the same every time."""

from itertools import combinations
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from bot.activities.match_pairing import pair_up


def distances(count, seed, share=1.0):
    random = Random(seed)
    return {
        frozenset(both): random.random()
        for both in combinations(range(count), 2)
        if random.random() < share
    }


def cost(far, pairs):
    return sum(far[frozenset(pair)] ** 2 for pair in pairs)


def best_of_all(far, count, pairs):
    """By looking at every way; for small handfuls."""

    def ways(left, wanted):
        if not wanted:
            yield ()
            return
        for at, one in enumerate(left):
            for two in left[at + 1 :]:
                if frozenset((one, two)) in far:
                    rest = [each for each in left[at + 1 :] if each != two]
                    for more in ways(rest, wanted - 1):
                        yield ((one, two), *more)

    return min((cost(far, way) for way in ways(list(range(count)), pairs)), default=None)


@settings(max_examples=60)
@given(st.integers(3, 14), st.integers(1, 6), st.integers(0, 999), st.sampled_from([1.0, 0.5]))
def test_pairs_are_pairs_and_nothing_is_in_two_of_them(count, pairs, seed, share):
    far = distances(count, seed, share)
    found = pair_up(far, count, pairs)
    if found is None:
        return
    used = [one for pair in found.pairs for one in pair]
    assert sorted([*used, *found.rest]) == list(range(count))
    assert len(found.pairs) == pairs
    assert found.rest
    assert all(frozenset(pair) in far for pair in found.pairs)
    assert pair_up(dict(reversed(far.items())), count, pairs) == found


def test_on_the_whole_it_is_hardly_worse_than_the_best_way_of_all():
    ours, best = [], []
    for seed in range(40):
        far = distances(8, seed)
        ours.append(cost(far, pair_up(far, 8, 3).pairs))
        best.append(best_of_all(far, 8, 3))
    assert all(one >= other - 1e-9 for one, other in zip(ours, best, strict=True))
    assert sum(ours) < 1.4 * sum(best)


def test_a_worst_pair_is_bettered_by_a_change_of_partners():
    by = {(0, 1): 0.0, (2, 3): 9.0, (0, 2): 1.0, (1, 3): 1.0, (0, 3): 5.0, (1, 2): 5.0}
    far = {frozenset(pair): apart for pair, apart in by.items()}
    far |= {frozenset((one, 4)): 20.0 for one in range(4)}
    found = pair_up(far, 5, 2)
    assert sorted(map(sorted, found.pairs)) == [[0, 2], [1, 3]]


def test_where_nothing_is_left_over_or_there_are_too_few_there_is_no_answer():
    assert pair_up(distances(4, 1), 4, 2) is None
    assert pair_up({}, 9, 1) is None
