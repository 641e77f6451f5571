"""All lines of a level in one metre and length, counted exactly and numbered.

A line's number is its place in a fixed order: how it lies where that settles its top tone, colours,
then measure by measure its rhythm and its tones.
"""

from __future__ import annotations

from bot.music.chapter import Chapter
from bot.music.composer import Composer
from bot.music.held import joined
from bot.music.line_draw import Line
from bot.music.offers import pickup_of_level
from bot.music.rhythm import Metre


class Catalogue:
    """Every line; `size` is their number, `line` and `number` are inverse to each other.

    The lines with a `pickup`, or those without one. ValueError where the level has none in a metre.
    """

    def __init__(
        self, composer: Composer, metre: Metre, measures: int, *, pickup: bool = False
    ) -> None:
        if pickup and pickup_of_level(composer.level, metre) is None:
            raise ValueError(f"no pickups in {metre} at {', '.join(composer.level.steps)}")
        ground = composer.ground(metre, measures, pickup=pickup)
        form = next(f for f in composer.level.forms if f.free and f.measures == measures)
        self._composer, self._metre = composer, metre
        self._chapters = [
            Chapter(composer, each, each.rhythms(form, colours).letters, len(colours))
            for each in dict.fromkeys(ground.lying.values())
            for colours in each.colour_choices()
        ]

    @property
    def size(self) -> int:
        """The number of lines."""
        return sum(chapter.size for chapter in self._chapters)

    def line(self, number: int) -> Line:
        """The line of a number from 0; IndexError beyond the last."""
        left = number
        for chapter in self._chapters:
            if 0 <= left < chapter.size:
                patterns, tones = chapter.unrank(left)
                chosen = joined([chapter.letters[m][p].pattern for m, p in enumerate(patterns)])
                sung = [self._composer.tones[tone] for tone in tones]
                return Line(self._metre, chosen, sung)
            left -= chapter.size
        raise IndexError(f"line {number} of {self.size}")

    def number(self, line: Line) -> int:
        """The number of a line; ValueError where it is none of these."""
        names = [pattern.name for pattern in line.measures]
        tones = [self._composer.tones.index(tone) for tone in line.tones]
        before = 0
        for chapter in self._chapters:
            patterns = chapter.find(names) if chapter.begins(tones) else None
            if patterns is not None:
                return before + chapter.rank(patterns, tones)
            before += chapter.size
        raise ValueError("the line's rhythm is none of this level")
