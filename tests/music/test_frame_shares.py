"""Frames are chosen from sums that many draws share; what a draw takes out counts all the same."""

from random import Random

import pytest

from bot.music.composer import Composer
from bot.music.frame_shares import FrameShares, FramesLeft
from bot.music.line_draw import alike
from bot.music.rhythms import pick
from tests.music.levels import FOUR_FOUR, level


def _frames(*ids):
    full = level(*ids)
    return Composer(full, full.tones).frames(FOUR_FOUR, 8)


def test_what_is_left_is_chosen_as_a_look_at_every_frame_chooses_it():
    frames = _frames("p15", "r16")[::40]
    random, shares = Random(1), FrameShares(frames)
    for _ in range(20):
        left = FramesLeft(shares)
        masses = {frame: frame.share << 32 for frame in frames}
        for seed in range(60):
            chosen = left.pick(Random(seed))
            assert chosen is pick(masses.items(), Random(seed))
            kept = random.choice((0, 0, 1, 5))
            left.keep(chosen, kept, 7)
            masses[chosen] = (chosen.share << 32) * kept // 7
            if not masses[chosen]:
                del masses[chosen]


def test_when_every_frame_is_gone_there_is_none_to_choose():
    frames = _frames("p03", "r02")
    left = FramesLeft(FrameShares(frames))
    for frame in frames:
        assert left.pick(Random(1)) is not None
        left.keep(frame, 0, 1)
    assert left.pick(Random(1)) is None
    assert FramesLeft(FrameShares(())).pick(Random(1)) is None


@pytest.mark.parametrize("ids", [("p05", "r04"), ("p15", "r16")])
def test_frames_that_differ_in_how_the_line_lies_alone_stand_side_by_side(ids):
    frames = _frames(*ids)
    left = FramesLeft(FrameShares(frames))
    gone = frames[1]
    left.keep(gone, 0, 1)
    for frame in (frames[0], *frames[5 :: len(frames) // 9]):
        beside = [each for each, _ in left.beside(frame, alike)]
        assert beside == [each for each in frames if alike(each, frame) and each is not gone]
