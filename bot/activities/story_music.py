"""A story with its music: the line of every scene for a choir's voices, and the earned finales.

Values only; `bot/service/story_setting.py` composes them. A run freezes the whole of it at its
start (`story_json.py`), so that a story goes on as it began whatever changes in its file.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from bot.activities.story import Story
from bot.music.exercise import Exercise


@dataclass(frozen=True, slots=True, kw_only=True)
class SceneLine:
    """The line of one scene in the room's key.

    `exercise` has the main line first and a part for each companion line. `singers` says for each
    part which voices sing it (their places among the choir's ranges); `do_octaves` the octave of do
    of each of them. `bent` are words whose stress could not stand on the stronger place.
    """

    exercise: Exercise
    singers: tuple[tuple[int, ...], ...]
    do_octaves: tuple[tuple[int, ...], ...]
    bent: tuple[str, ...] = ()

    @property
    def main(self) -> Exercise:
        """The main line alone, as it sounds with others in the finale."""
        return replace(self.exercise, parts=self.exercise.parts[:1])

    @property
    def words(self) -> tuple[str, ...]:
        """The syllables under the main line, one for each note; empty without words."""
        return self.exercise.parts[0].words


@dataclass(frozen=True, slots=True, kw_only=True)
class FinaleMusic:
    """The end of one telling: lines that were sung on the way, together.

    `scenes` names for each part of `exercise`, the highest first, the scene whose line it is; empty
    for a part that is new. `singers` and `do_octaves` as in SceneLine. `worth` is higher for lines
    that match better.
    """

    exercise: Exercise
    scenes: tuple[str, ...]
    singers: tuple[tuple[int, ...], ...]
    do_octaves: tuple[tuple[int, ...], ...]
    worth: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SetStory:
    """A story set to music. `lines` by scene id; `finales` by the scenes of a telling in order."""

    story: Story
    lines: Mapping[str, SceneLine]
    finales: Mapping[tuple[str, ...], FinaleMusic]

    def finale(self, way: Sequence[str]) -> FinaleMusic | None:
        """The finale that a class earned on its way (scene ids from the start to an ending).

        A class that walked a loop more often than once gets the best finale of the scenes that it
        saw. None where the ending asks for none.
        """
        exact = self.finales.get(tuple(way))
        if exact is not None or not way:
            return exact
        seen = set(way)
        fitting = [
            finale
            for scenes, finale in self.finales.items()
            if scenes[-1] == way[-1] and seen.issuperset(scenes)
        ]
        return max(fitting, key=lambda each: each.worth, default=None)
