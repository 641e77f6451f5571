"""Composing a line: the rhythm first, then its tones, each with its exact probability.

A draw goes down from the frame (metre, length, colours, form) to the rhythm to the tones. Rhythms
are summed exactly in whole numbers, and only those that some line of tones fits are among them;
tones are summed by backward messages over the rhythm that was drawn. What a choir has read is left
out exactly: a rhythm some of whose lines were read loses just their share, which is reckoned when
the rhythm is first drawn. The same happens to the few rhythms that are so full of the newest cell
that the newest tone finds no beat beside it. Each is judged once and never drawn again, so a draw
ends, and with the exact law of what is left.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from fractions import Fraction
from random import Random

from bot.errors import NoExercise
from bot.music.cell import Cell
from bot.music.copied_lines import CopiedLines
from bot.music.critic import best
from bot.music.drawing import Unread
from bot.music.exercise import Exercise, Part, Tone
from bot.music.frames import (
    Frame,
    Ground,
    lengths_offered,
    metres_offered,
    pickup_of_level,
    pickup_shares,
    shares,
)
from bot.music.level import Level, upbeat_level
from bot.music.lines import FreeLines, Lines
from bot.music.messages import Messages
from bot.music.note_counts import NoteCounts
from bot.music.patterns import PHRASE, Pattern, pickup_of
from bot.music.pitch import Key, Mode
from bot.music.placement import Placement, tones_within
from bot.music.rhythm import Metre
from bot.music.rhythms import Path, Taken, pick
from bot.music.seen import Seen
from bot.music.skeleton import skeleton_of
from bot.music.voice import VoiceRange
from bot.music.written import Rhythm, notes_of, rhythm_of

CANDIDATES = 10  # lines among which the critic chooses
_ANY_KEYS = {mode: Key(fifths=0, mode=mode) for mode in Mode}  # what the critic hears has no key
GroundOf = Callable[[Level, Metre, int, NoteCounts, Cell | None], Ground]
_FINE = 32  # bits below a frame's share, so that a part taken out of it shows


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
    does not have, rules that leave no line, or every line read.
    """
    composer = Composer(level, tones_within(level, placement, ranges))
    random = Random(seed)  # noqa: S311 -- the same seed has to give the same line
    line = composer.choose(random, metre=metre, measures=measures, seen=seen)
    return line.exercise(placement.key, placement.do_octaves[0])


class Line:
    """A line that was drawn: its measures and its tones, in no key."""

    def __init__(self, metre: Metre, measures: Sequence[Pattern], tones: Sequence[Tone]) -> None:
        self.metre, self.measures, self.tones = metre, tuple(measures), tuple(tones)

    def exercise(self, key: Key, do_octave: int) -> Exercise:
        """The line in a key."""
        part = Part(notes=notes_of(self.measures, self.tones), do_octave=do_octave)
        return Exercise(key=key, metre=self.metre, parts=(part,), pickup=pickup_of(self.measures))


class Composer:
    """Draws lines of one level from a set of tones; builds what it needs when it needs it.

    `ground` makes what the rhythms of a metre and length share: other rhythms, other lines.
    """

    def __init__(self, level: Level, tones: tuple[Tone, ...], *, ground: GroundOf = Ground) -> None:
        self.level, self.tones, self._ground_of = level, tones, ground
        self._messages: dict[tuple[int, bool], Messages] = {}
        self._grounds: dict[tuple[Metre, int, bool], Ground] = {}
        self._frames: dict[tuple[Metre | None, int | None, bool], tuple[Frame, ...]] = {}

    def messages(self, measures: int, *, pickup: bool = False) -> Messages:
        """The melodic tables for lines of a length, with a pickup or without."""
        focus = self.level.pitch_focus
        hits = focus.needed(measures) if focus else 0
        if (hits, pickup) not in self._messages:
            level = upbeat_level(self.level) if pickup else self.level
            self._messages[hits, pickup] = Messages(level, self.tones, hits)
        return self._messages[hits, pickup]

    def ground(self, metre: Metre, measures: int, *, pickup: bool = False) -> Ground:
        """What the rhythms of a metre and length share, with a pickup or without."""
        key = metre, measures, pickup
        if key not in self._grounds:
            counts = NoteCounts(self.messages(measures, pickup=pickup), measures // PHRASE)
            cell = pickup_of_level(self.level, metre) if pickup else None
            self._grounds[key] = self._ground_of(self.level, metre, measures, counts, cell)
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
        messages = self.messages(frame.measures, pickup=frame.pickup is not None)
        skeleton = skeleton_of(
            measures,
            new_cells=self.ground(frame.metre, frame.measures).kept_free,
            copied_measures=frame.form.copied,
            lie=frame.lie,
        )
        if frame.form.copied and not self.level.both_ways:
            copied = CopiedLines(messages, skeleton)
            if copied.total > 0.0:
                return copied
        return FreeLines(messages, skeleton)

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
    ) -> _Draw:
        read = Seen(seen, self.tones, self.level.mode)
        return _Draw(self, random, self.frames(metre, measures), read)

    def choose(
        self,
        random: Random,
        *,
        metre: Metre | None = None,
        measures: int | None = None,
        seen: Collection[Exercise] = (),
    ) -> Line:
        """The candidate that is most like a sung tune; raises NoExercise like `compose`."""
        lines = self.candidates(random, metre=metre, measures=measures, seen=seen)
        key = _ANY_KEYS[self.level.mode]
        return lines[best([line.exercise(key, 4) for line in lines])]

    def candidates(
        self,
        random: Random,
        *,
        metre: Metre | None = None,
        measures: int | None = None,
        seen: Collection[Exercise] = (),
    ) -> list[Line]:
        """Lines of one frame, so that the critic decides on no metre, form or colour.

        The same line may be among them twice where few are left. Raises NoExercise like `compose`.
        """
        draw = self._begin(random, metre, measures, seen)
        return [draw.run(), *(draw.again() for _ in range(CANDIDATES - 1))]


class _Draw:
    """One draw, and what it found out about rhythms whose lines were read in part."""

    def __init__(
        self, composer: Composer, random: Random, frames: Sequence[Frame], seen: Seen
    ) -> None:
        self._composer, self._random, self._seen = composer, random, seen
        self._masses = {frame: frame.share << _FINE for frame in frames}
        self._taken: dict[Frame, Taken] = {}
        self._judged: set[tuple[Frame, Path]] = set()
        self._read: set[tuple[Metre, Rhythm, tuple[int, ...]]] = set()
        self._last: Frame | None = None

    def run(self) -> Line:
        """Draw until a rhythm goes; every rhythm is judged once at most."""
        while frame := self._frame():
            path = frame.rhythms.draw(self._random, self._taken.get(frame) or Taken())
            unread = self._unread(frame, path)
            if unread.share == 1.0 or self._goes(frame, path, unread.share):
                self._last = frame
                tones = unread.draw(self._random)
                return Line(frame.metre, frame.line(path), [self._composer.tones[t] for t in tones])
        if self._read:
            raise NoExercise("refusal.all-read", count=len(self._read))
        raise NoExercise("refusal.no-line", step=", ".join(self._composer.level.steps))

    def again(self) -> Line:
        """Another line of the frame of the last one."""
        assert self._last is not None, "nothing was drawn yet"
        self._masses = {frame: mass for frame, mass in self._masses.items() if frame is self._last}
        return self.run()

    def _frame(self) -> Frame | None:
        """A frame that holds rhythms, by its share less what was taken out; None where none is."""
        while self._masses:
            frame = pick(self._masses.items(), self._random)
            if frame.rhythms.total:
                return frame
            del self._masses[frame]
        return None

    def _unread(self, frame: Frame, path: Path) -> Unread:
        lines = self._composer.lines(frame, path)
        rhythm = rhythm_of(frame.line(path))
        read = []
        pickup = pickup_of(frame.line(path))
        for tones in self._seen.tones(frame.metre, rhythm, pickup):
            labels = lines.labels(tones)
            if labels is not None:
                self._read.add((frame.metre, rhythm, tones))
                read.append(labels)
        return Unread(lines, read)

    def _goes(self, frame: Frame, path: Path, share: float) -> bool:
        """Whether a rhythm goes with such a share unread; the rest is taken out of its weight.

        A rhythm that was judged before has its right weight by now.
        """
        if (frame, path) in self._judged:
            return share > 0.0
        self._judged.add((frame, path))
        weight = frame.rhythms.weight(path)
        keep = max(int(weight * Fraction(share)), 1) if share else 0
        taken = self._taken.setdefault(frame, Taken())
        taken.take(frame.rhythms, path, weight - keep)
        total = frame.rhythms.total
        left = total - taken.of(())
        if left:
            self._masses[frame] = max((frame.share << _FINE) * left // total, 1)
        else:
            del self._masses[frame]
        return self._random.random() < share
