"""A branching story as its author wrote it: scenes, the lines sung in them, the paths on.

Values only: `story_file.py` reads them, `story_check.py` judges them. A scene without paths is an
ending. A path names the syllable that the next scene's line starts on, so a vote by hand sign is
already the first note.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from bot.music.exercise import Tone
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.voice import Voice

FORMAT = 1  # version number of the story file


class Way(StrEnum):
    """How a class sings a scene's line."""

    SYLLABLES = "syllables"
    NUMBERS = "numbers"
    WORDS = "words"
    HALVES = "half and half"  # one half of the room sings each half of the line
    ECHO = "echo"  # the director sings a measure, the class sings it back
    DIRECTOR = "director sings words"  # the class on syllables, the director on words


class Notation(StrEnum):
    """How music that an author brings is written."""

    LETTERS = "letters"  # tonic sol-fa letters
    ABC = "abc"
    FILE = "file"  # the name of a MusicXML file beside the story


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenMusic:
    """Music that the author wrote instead of leaving it to the program."""

    notation: Notation
    text: str
    place: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class SungLine:
    """The words of a line, `-` between syllables where the author divides them, or its music.

    At least one of the two is there. `words` may be empty only with music.
    """

    words: str = ""
    music: WrittenMusic | None = None
    way: Way = Way.SYLLABLES
    place: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """One way on: its label, the tone that the next line starts on, the id of the next scene."""

    label: str
    syllable: Tone
    next: str
    place: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finale:
    """How an ending sounds: lines sung on the way in so many parts, or a new part to one of them.

    `parts` is 1 (the last line once more), 2 or 3. With `new_part` a new part is composed against
    the line of the scene `against`, or of the last scene where that is empty.
    """

    parts: int = 2
    new_part: bool = False
    against: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One stop of a story. `paths` are empty at an ending, two or three elsewhere.

    `text` has a blank line between paragraphs. `key` is None where the story's key holds. `stop`
    marks a scene after which a class may stop for today. `finale` is read at endings only; None
    means the story's. `places` says where `text`, `sing`, `key` ... stand in the file.
    """

    id: str
    text: str
    line: SungLine | None = None
    key: Key | None = None
    paths: tuple[Path, ...] = ()
    stop: bool = False
    finale: Finale | None = None
    place: str = field(default="", compare=False)
    places: Mapping[str, str] = field(default_factory=dict, compare=False)

    @property
    def ending(self) -> bool:
        """Whether the story ends here."""
        return not self.paths

    def at(self, key: str) -> str:
        """Where a field stands in the file; the scene's own place if it is not there."""
        return self.places.get(key, self.place)


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """A story as a whole.

    `grades` is the reading band, lowest and highest grade. `voices` are those that it is written
    for, the highest first (a choir's own ranges are used when it is told). `steps` are ids of the
    order `sequence`. `key`, `metre` None leave the choice to the composer; `measures` is the length
    of every line. `scenes` are in the order of the file and hold at least `start`.
    """

    id: str
    title: str
    about: str
    grades: tuple[int, int]
    voices: tuple[Voice, ...]
    sequence: str
    steps: tuple[str, ...]
    start: str
    scenes: tuple[Scene, ...]
    key: Key | None = None
    metre: Metre | None = None
    measures: int = 4
    finale: Finale = Finale()
    place: str = field(default="", compare=False)
    places: Mapping[str, str] = field(default_factory=dict, compare=False)

    def scene(self, scene_id: str) -> Scene:
        """The scene of an id; KeyError where there is none."""
        for scene in self.scenes:
            if scene.id == scene_id:
                return scene
        raise KeyError(scene_id)

    def has(self, scene_id: str) -> bool:
        """Whether there is such a scene."""
        return any(scene.id == scene_id for scene in self.scenes)

    @property
    def endings(self) -> tuple[Scene, ...]:
        """Scenes in which the story ends."""
        return tuple(scene for scene in self.scenes if scene.ending)

    def finale_of(self, scene: Scene) -> Finale:
        """How an ending sounds: its own finale, or the story's."""
        return scene.finale or self.finale

    def key_of(self, scene: Scene) -> Key | None:
        """The key of a scene's line: its own, or the story's."""
        return scene.key or self.key

    def at(self, key: str) -> str:
        """Where a field stands in the file."""
        return self.places.get(key, self.place)

    def first_tones(self) -> Mapping[str, tuple[Tone, ...]]:
        """For every scene the different syllables of the paths that lead to it, in order."""
        tones: dict[str, dict[Tone, None]] = {scene.id: {} for scene in self.scenes}
        for _, path in self.all_paths():
            if path.next in tones:
                tones[path.next][path.syllable] = None
        return {scene_id: tuple(found) for scene_id, found in tones.items()}

    def all_paths(self) -> Iterator[tuple[Scene, Path]]:
        """Every path with the scene that it leaves, in the order of the file."""
        for scene in self.scenes:
            for path in scene.paths:
                yield scene, path


def first_ways(story: Story) -> dict[str, tuple[str, ...]]:
    """The shortest way to each scene, itself included; itself alone where none leads to it."""
    ways: dict[str, tuple[str, ...]] = {story.start: (story.start,)}
    waiting = [story.start]
    for scene_id in waiting:
        for path in story.scene(scene_id).paths:
            if path.next not in ways and story.has(path.next):
                ways[path.next] = (*ways[scene_id], path.next)
                waiting.append(path.next)
    return {scene.id: ways.get(scene.id, (scene.id,)) for scene in story.scenes}


def tellings(story: Story, *, most: int = 5_000) -> tuple[tuple[str, ...], ...]:
    """Every way through a story from its start to an ending, as scene ids.

    A path is taken once at most in one telling, so a loop is walked round once. ValueError where
    there are more than `most`. Paths to scenes that do not exist are passed over.
    """
    scenes = {scene.id: scene for scene in story.scenes}
    found: list[tuple[str, ...]] = []
    taken: set[tuple[str, int]] = set()

    def walk(way: list[str]) -> None:
        scene = scenes[way[-1]]
        if scene.ending:
            if len(found) == most:
                raise ValueError(f"more than {most} ways through the story")
            found.append(tuple(way))
        for number, path in enumerate(scene.paths):
            step = (scene.id, number)
            if path.next in scenes and step not in taken:
                taken.add(step)
                walk([*way, path.next])
                taken.remove(step)

    if story.start in scenes:
        walk([story.start])
    return tuple(found)
