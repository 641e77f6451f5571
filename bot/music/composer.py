"""Composing a line: the rhythm first, then its tones, each with its exact probability.

A draw goes down from the frame (metre, length, colours, form) to the rhythm to the tones. Rhythms
are summed exactly in whole numbers, and only those that some line of tones fits are among them;
tones are summed by backward messages over the rhythm that was drawn, and the walk through them
leans on what it has sung so far.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from random import Random

from bot.errors import NoExercise
from bot.music.breadth import goes_somewhere
from bot.music.cell import Cell
from bot.music.climax import rests, tops_of
from bot.music.copied_lines import CopiedLines
from bot.music.critic import chosen
from bot.music.exercise import Exercise, Tone
from bot.music.frame_shares import FrameShares
from bot.music.frames import Frame, Ground
from bot.music.leant_lines import LeantLines
from bot.music.level import Level, upbeat_level
from bot.music.line_draw import Line, LineDraw
from bot.music.line_model import LineModel
from bot.music.lines import FreeLines, Lines
from bot.music.messages import Messages, line_model
from bot.music.note_counts import NoteCounts
from bot.music.offers import (
    lengths_offered,
    metres_offered,
    pickup_of_level,
    pickup_shares,
    shares,
)
from bot.music.patterns import PHRASE
from bot.music.placement import Placement, tones_within
from bot.music.reason import Asked
from bot.music.rhythm import Metre
from bot.music.rhythms import Path
from bot.music.seen import Seen
from bot.music.sequence import Climax
from bot.music.skeleton import skeleton_of
from bot.music.voice import VoiceRange

GroundOf = Callable[[Level, Metre, int, NoteCounts, Cell | None], Ground]


def compose(
    level: Level,
    placement: Placement,
    ranges: Sequence[VoiceRange],
    *,
    measures: int | None = None,
    metre: Metre | None = None,
    seed: int,
    seen: Collection[Exercise] = (),
) -> Exercise:
    """One line for voices that sing it together, each with its do where the placement has it.

    The same level, ranges, placement, wishes, seed and `seen` give the same line. No line comes
    back that is in `seen`, whatever its key. Without a wish, metre and length are drawn. Raises
    NoExercise with the rule that forbids it: a tone out of range, a metre or length that the step
    does not have or in which its newest thing has no place, or every line read.
    """
    tones = tones_within(level, placement, ranges)
    random = Random(seed)  # noqa: S311 -- the same seed has to give the same line

    def composes(at: Level, metre: Metre | None, measures: int | None) -> Line:
        return Composer(at, tones).draw(random, metre=metre, measures=measures)

    asked = Asked(composes=composes, level=level, metre=metre, measures=measures)
    try:
        asked.has_place()
        line = Composer(level, tones).choose(random, metre=metre, measures=measures, seen=seen)
    except NoExercise as refusal:
        raise asked.reason(refusal) from refusal
    return line.exercise(placement.key, placement.do_octaves[0])


class Composer:
    """Draws lines of one level from a set of tones; builds what it needs when it needs it.

    `ground` makes what the rhythms of a metre and length share: other rhythms, other lines.
    """

    def __init__(self, level: Level, tones: tuple[Tone, ...], *, ground: GroundOf = Ground) -> None:
        self.level, self.tones, self._ground_of = level, tones, ground
        self._model: LineModel | None = None
        self._messages: dict[tuple[int, bool, tuple[int, ...] | None], Messages] = {}
        self._counts: dict[tuple[int, bool, tuple[int, ...] | None], NoteCounts] = {}
        self._grounds: dict[tuple[Metre, int, bool], Ground] = {}
        self._frames: dict[tuple[Metre | None, int | None, bool], tuple[Frame, ...]] = {}
        self._shares: dict[tuple[Metre | None, int | None], FrameShares] = {}

    def messages(
        self, measures: int, *, pickup: bool = False, tops: tuple[int, ...] | None = None
    ) -> Messages:
        """The melodic tables for lines of a length, with a pickup or without.

        Of lines that sing their top tone once, those with one of these `tops`.
        """
        focus = self.level.pitch_focus
        hits = focus.needed(measures) if focus else 0
        key = hits, pickup, tops
        if key not in self._messages:
            level = upbeat_level(self.level) if pickup else self.level
            self._model = self._model or line_model(level, self.tones)
            self._messages[key] = Messages(level, self.tones, hits, tops=tops, model=self._model)
        return self._messages[key]

    def _note_counts(
        self, measures: int, *, pickup: bool, tops: tuple[int, ...] | None = None
    ) -> NoteCounts:
        key = measures, pickup, tops
        if key not in self._counts:
            messages = self.messages(measures, pickup=pickup, tops=tops)
            self._counts[key] = NoteCounts(messages, measures // PHRASE)
        return self._counts[key]

    def ground(self, metre: Metre, measures: int, *, pickup: bool = False) -> Ground:
        """What the rhythms of a metre and length share, with a pickup or without."""
        key = metre, measures, pickup
        if key not in self._grounds:
            counts = self._note_counts(measures, pickup=pickup)
            cell = pickup_of_level(self.level, metre) if pickup else None
            ground = self._ground_of(self.level, metre, measures, counts, cell)
            kept = self.level.conditions
            if kept.climax is Climax.ONCE and not rests(kept, self.tones):
                ground.lying = {
                    lie: ground.beside(self._note_counts(measures, pickup=pickup, tops=tops))
                    for lie, tops in tops_of(self.tones, kept.end, kept.peak).items()
                }
            self._grounds[key] = ground
        return self._grounds[key]

    def frames(
        self, metre: Metre | None, measures: int | None, *, pickups: bool = True
    ) -> tuple[Frame, ...]:
        """The frames among which a wish leaves the choice; without `pickups` none has one."""
        key = metre, measures, pickups
        if key not in self._frames:
            self._frames[key] = tuple(
                frame
                for each, often in shares(metres_offered(self.level, metre))
                for length, share in shares(lengths_offered(self.level, measures))
                for pickup, part in pickup_shares(self.level, each).items()
                if pickups or not pickup
                for frame in self.ground(each, length, pickup=pickup).frames(often * share * part)
            )
        return self._frames[key]

    def lines(self, frame: Frame, path: Path) -> Lines:
        """The lines of tones over a rhythm, copied as its form asks if any can be."""
        measures = frame.line(path)
        messages = frame.ground.messages
        skeleton = skeleton_of(
            measures,
            new_cells=frame.ground.kept_free,
            copied_measures=frame.form.copied,
            lie=frame.lie,
        )
        steps = [tone.step - messages.moves.tonic for tone in self.tones]
        if frame.form.copied and not self.level.both_ways:
            again = CopiedLines(messages, skeleton)
            if again.total > 0.0:
                return LeantLines(again, skeleton, frame.metre, steps, skeleton.copied)
        return LeantLines(FreeLines(messages, skeleton), skeleton, frame.metre, steps)

    def draw(
        self,
        random: Random,
        *,
        metre: Metre | None = None,
        measures: int | None = None,
        seen: Collection[Exercise] = (),
    ) -> Line:
        """A line that is none of the exercises seen; raises NoExercise like `compose`."""
        return self._begin(random, metre, measures, seen).run()

    def _begin(
        self,
        random: Random,
        metre: Metre | None,
        measures: int | None,
        seen: Collection[Exercise],
    ) -> LineDraw:
        read = Seen(seen, self.tones, self.level.mode)
        wish = metre, measures
        if wish not in self._shares:
            self._shares[wish] = FrameShares(self.frames(metre, measures))
        return LineDraw(self.level, self.tones, self.lines, self._shares[wish], random, read)

    def choose(
        self,
        random: Random,
        *,
        metre: Metre | None = None,
        measures: int | None = None,
        seen: Collection[Exercise] = (),
    ) -> Line:
        """A candidate, the likelier the more it is like a sung tune; NoExercise like `compose`.

        Those that go nowhere are left out where there are others.
        """
        drawn = self.candidates(random, metre=metre, measures=measures, seen=seen)
        found = [line for line in drawn if self._goes_somewhere(line)] or drawn
        return found[chosen([line.worth for line in found], random)]

    def _goes_somewhere(self, line: Line) -> bool:
        return goes_somewhere(line.tones, len(line.measures), self.tones)

    def candidates(
        self,
        random: Random,
        *,
        metre: Metre | None = None,
        measures: int | None = None,
        seen: Collection[Exercise] = (),
    ) -> list[Line]:
        """Lines over several rhythms of one form, so that the critic decides on no metre or colour.

        The same line may be among them twice where few are left. Raises NoExercise like `compose`.
        """
        return self._begin(random, metre, measures, seen).several()
