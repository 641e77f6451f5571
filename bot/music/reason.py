"""Why there is no line: the wish, or what is newest, that leaves none, and what would be right.

A search that comes back empty knows of no reason. Here it is found by asking again for a little
less: in another metre, in another length, without what is newest at the step.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from bot.errors import NoExercise
from bot.music.cell import HELD
from bot.music.level import Level, PitchFocus, RhythmFocus
from bot.music.rhythm import Metre
from bot.music.texture import Texture, texture_of

# Composes at a level in a metre and a length, None for any; what it gives back is not looked at.
Composes = Callable[[Level, Metre | None, int | None], object]

# Where nothing has a place as wished; where all but what is newest has one; where that has none in
# lines that read both ways.
_METRE = ("refusal.in_metre", "refusal.new_in_metre", "refusal.mirror_metre")
_LENGTH = ("refusal.in_length", "refusal.new_in_length", "refusal.mirror_length")
_LINES = ("refusal.no-line", "refusal.new_in_lines", "refusal.mirror_lines")
_PARTS = ("refusal.no-line", "refusal.new_in_parts", "refusal.mirror_lines")
_BARE = ("refusal.no-line", "refusal.parts", "refusal.parts_in_key")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked for: a level, a metre and a length in measures, None for any."""

    composes: Composes
    level: Level
    metre: Metre | None
    measures: int | None

    def reason(self, refusal: NoExercise) -> NoExercise:
        """A refusal that names the rule and what would be right.

        "refusal.new_in_metre" and "refusal.new_in_length" where a wish leaves what is newest no
        place, "refusal.in_metre" and "refusal.in_length" where it leaves nothing else either,
        "refusal.new_in_lines" (in parts "refusal.new_in_parts") where what is newest has no place
        whatever else is asked; of lines that read both ways it is "refusal.mirror_metre",
        "mirror_length" and "mirror_lines". One that names a rule already comes back as it is, as
        does one that less would not have spared.
        """
        if refusal.key not in _BARE:
            return refusal
        if self.metre is not None and (metres := self._metres()):
            return self._named(_METRE, metre=self.metre.text, known=metres)
        if self.measures is not None and (lengths := self._lengths()):
            return self._named(_LENGTH, measures=self.measures, known=lengths)
        if self.metre is not None and self.measures is not None:
            return replace(self, measures=None).reason(refusal)  # each is wrong: one at a time
        if self._newest() is None:
            return refusal
        keys = _LINES if texture_of(self.level) is Texture.UNISON else _PARTS
        return self._named(keys, steps=", ".join(self.level.steps))

    def _metres(self) -> str:
        """The metres that would be right, empty where none is."""
        if not replace(self, metre=None)._goes():
            return ""
        metres = [each for each, _ in self.level.metres if replace(self, metre=each)._goes()]
        return ", ".join(each.text for each in metres)

    def _lengths(self) -> str:
        """The lengths that would be right, empty where none is."""
        if not replace(self, measures=None)._goes():
            return ""
        lengths = [each for each in self.level.measures if replace(self, measures=each)._goes()]
        return ", ".join(map(str, lengths))

    def _named(self, keys: tuple[str, str, str], **values: object) -> NoExercise:
        (every, new, mirrored), newest = keys, self._newest()
        if newest is None:
            return NoExercise(every, step=", ".join(self.level.steps), **values)
        key = mirrored if self.level.both_ways else new
        return NoExercise(key, step=newest.step, name=newest.name, **values)

    def _newest(self) -> PitchFocus | RhythmFocus | None:
        """What is newest and leaves no line, where there are lines without it."""
        rhythm, pitch = self.level.rhythm_focus, self.level.pitch_focus
        if rhythm and replace(self, level=replace(self.level, rhythm_focus=None))._goes():
            return rhythm
        if pitch and replace(self, level=replace(self.level, pitch_focus=None))._goes():
            return pitch
        return None

    def has_place(self) -> None:
        """NoExercise("refusal.no-line") where the newest cells may begin nowhere in the metre.

        It spares the search through every choice of other cells.
        """
        newest, metre = self.level.rhythm_focus, self.metre
        if newest is None or metre is None or newest.metre not in (None, metre):
            return
        if metre not in dict(self.level.metres):
            return  # another rule forbids it
        if self.measures is not None and self.measures not in self.level.measures:
            return
        known = {cell.text for cell in self.level.cells if cell.offsets(metre)}
        if not newest.pickup and HELD not in newest.cells and newest.cells.isdisjoint(known):
            raise NoExercise("refusal.no-line", step=", ".join(self.level.steps))

    def _goes(self) -> bool:
        """Whether there is a line."""
        try:
            self.has_place()
            self.composes(self.level, self.metre, self.measures)
        except NoExercise as refusal:
            return refusal.key == "refusal.all-read"
        return True
