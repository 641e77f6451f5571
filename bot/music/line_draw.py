"""Drawing one line, or several to choose from: a frame, a rhythm, its tones.

What a choir has read is left out exactly: a rhythm some of whose lines were read loses just their
share, which is reckoned when the rhythm is first drawn. The same happens to the few rhythms that
are so full of the newest cell that the newest tone finds no beat beside it. Each is judged once and
never drawn again, so a draw ends, and with the exact law of what is left.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from random import Random

from bot.errors import NoExercise
from bot.music.critic import chosen, heard_rhythm, rhythm_score, sung_score
from bot.music.drawing import Unread
from bot.music.exercise import Exercise, Part, Tone
from bot.music.frame_shares import FrameShares, FramesLeft
from bot.music.frames import Frame
from bot.music.level import Level
from bot.music.line_facts import Timing
from bot.music.lines import Lines
from bot.music.patterns import Pattern, pickup_of
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.rhythms import Path, Taken, pick
from bot.music.seen import Seen
from bot.music.written import Rhythm, notes_of, rhythm_of

RHYTHMS, KEPT = 24, 3  # rhythms among which the critic chooses, and how many it keeps
LINES = 6  # lines over each of these


class Line:
    """A line that was drawn: its measures and its tones, in no key.

    `worth` is what the critic thinks of it beside others, its rhythm left out where that was chosen
    before.
    """

    def __init__(
        self,
        metre: Metre,
        measures: Sequence[Pattern],
        tones: Sequence[Tone],
        worth: float = 0.0,
    ) -> None:
        self.metre, self.measures, self.tones = metre, tuple(measures), tuple(tones)
        self.worth = worth

    def exercise(self, key: Key, do_octave: int) -> Exercise:
        """The line in a key."""
        part = Part(notes=notes_of(self.measures, self.tones), do_octave=do_octave)
        return Exercise(key=key, metre=self.metre, parts=(part,), pickup=pickup_of(self.measures))


class LineDraw:
    """One draw, and what it found out about rhythms whose lines were read in part."""

    def __init__(
        self,
        level: Level,
        tones: Sequence[Tone],
        lines: Callable[[Frame, Path], Lines],
        frames: FrameShares,
        random: Random,
        seen: Seen,
    ) -> None:
        self._level, self._tones, self._lines = level, tones, lines
        self._random, self._seen = random, seen
        self._frames = FramesLeft(frames)
        self._taken: dict[Frame, Taken] = {}
        self._judged: set[tuple[Frame, Path]] = set()
        self._read: set[tuple[Metre, Rhythm, tuple[int, ...]]] = set()

    def run(self) -> Line:
        """A line by its exact law; NoExercise where none is left."""
        return self._line(*self._next())

    def several(self) -> list[Line]:
        """Lines over several rhythms of one form with one choice of colours, never none."""
        first, path, unread = self._next()
        like_first = self._frames.beside(first, alike)
        found: list[Line] = []
        for frame, other, timing in self._rhythms(like_first):
            left = self._unread(frame, other)
            if left.share == 1.0 or self._goes(frame, other, left.share):
                worth = rhythm_score(timing)
                for _ in range(LINES):
                    line = self._line(frame, other, left)
                    line.worth = sung_score(timing, self._steps(line)) - worth
                    found.append(line)
        return found or [self._line(first, path, unread)]

    def _next(self) -> tuple[Frame, Path, Unread]:
        """Draw until a rhythm goes; every rhythm is judged once at most."""
        while frame := self._frame():
            path = frame.rhythms.draw(self._random, self._taken.get(frame) or Taken())
            unread = self._unread(frame, path)
            if unread.share == 1.0 or self._goes(frame, path, unread.share):
                return frame, path, unread
        if self._read:
            raise NoExercise("refusal.all-read", count=len(self._read))
        raise NoExercise("refusal.no-line", step=", ".join(self._level.steps))

    def _rhythms(self, frames: Sequence[tuple[Frame, int]]) -> Iterator[tuple[Frame, Path, Timing]]:
        """A few of many rhythms as they are heard, the likelier the more they are like tunes'."""
        drawn, worths = [], []
        for _ in range(RHYTHMS):
            frame = pick(frames, self._random)
            path = frame.rhythms.draw(self._random, self._taken.get(frame) or Taken())
            timing = Timing(heard_rhythm(frame.line(path), frame.metre), frame.measures)
            drawn.append((frame, path, timing))
            worths.append(rhythm_score(timing))
        for _ in range(KEPT):
            number = chosen(worths, self._random)
            del worths[number]
            yield drawn.pop(number)

    def _line(self, frame: Frame, path: Path, unread: Unread) -> Line:
        tones = [self._tones[tone] for tone in unread.draw(self._random)]
        return Line(frame.metre, frame.line(path), tones)

    def _steps(self, line: Line) -> list[int]:
        tonic = self._level.mode.tonic_step
        return [tone.step - tonic for tone in line.tones]

    def _frame(self) -> Frame | None:
        """A frame that holds rhythms, by its share less what was taken out; None where none is."""
        while frame := self._frames.pick(self._random):
            if frame.rhythms.total:
                return frame
            self._frames.keep(frame, 0, 1)
        return None

    def _unread(self, frame: Frame, path: Path) -> Unread:
        lines = self._lines(frame, path)
        if not self._seen:
            return Unread(lines)
        measures, read = frame.line(path), []
        rhythm, pickup = rhythm_of(measures), pickup_of(measures)
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
        self._frames.keep(frame, total - taken.of(()), total)
        return self._random.random() < share


def alike(frame: Frame, other: Frame) -> bool:
    """Whether two frames hold the same rhythms: they differ in how the line lies, if at all."""
    return (frame.form, frame.colours) == (other.form, other.colours) and (
        frame.ground is other.ground
    )
