"""Stories from the disk: the file, its text as it was, and music that lies beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from bot.activities.story import Notation, Story, WrittenMusic
from bot.activities.story_file import parse_story, scene_lines
from bot.errors import Fault, InputProblems
from bot.music.exercise import Exercise
from bot.music.tonicsolfa import exercise_from_tonicsolfa
from bot.notation.abc import exercise_from_abc
from bot.notation.read import exercise_from_musicxml
from bot.service.content import Content

LIMIT_BYTES = 256 * 1024  # forty scenes at their longest are a tenth of it


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedStory:
    """A story with the text that it was read from, to be frozen with a run."""

    story: Story
    text: str
    file: Path


def load_story(file: Path) -> LoadedStory:
    """Read a story file, its id being the file's name; InputProblems with every fault."""
    data = file.read_bytes()
    if len(data) > LIMIT_BYTES:
        fault = Fault(place=str(file), problem=f"larger than {LIMIT_BYTES // 1024} KiB")
        raise InputProblems([fault])
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        fault = Fault(place=str(file), problem="is not UTF-8", remedy="save it as UTF-8 text")
        raise InputProblems([fault]) from error
    return LoadedStory(story=parse_story(text, str(file), file.stem), text=text, file=file)


def story_of(content: Content, story_id: str) -> LoadedStory:
    """A story of the program's or the director's by its id; InputProblems names those there are."""
    if story_id not in content.stories:
        known = ", ".join(content.stories) or "none yet"
        fault = Fault(place=story_id, problem="no such story", remedy=f"there are: {known}")
        raise InputProblems([fault])
    return load_story(content.stories[story_id])


def written_music(loaded: LoadedStory) -> Mapping[str, Exercise]:
    """The music that the author wrote, by scene id; InputProblems with every fault of it.

    Files lie beside the story and nowhere else.
    """
    music: dict[str, Exercise] = {}
    faults: list[Fault] = []
    for scene_id, line in scene_lines(loaded.story).items():
        if line.music is None:
            continue
        try:
            music[scene_id] = _exercise(line.music, loaded.file.parent)
        except InputProblems as problems:
            faults += (_placed(fault, line.music.place) for fault in problems.faults)
    if faults:
        raise InputProblems(faults)
    return music


def _exercise(music: WrittenMusic, folder: Path) -> Exercise:
    match music.notation:
        case Notation.LETTERS:
            return exercise_from_tonicsolfa(music.text)
        case Notation.ABC:
            return exercise_from_abc(music.text, "abc")
        case Notation.FILE:
            name = Path(music.text)
            if name.name != music.text or not (folder / name).is_file():
                remedy = "the name of a MusicXML file beside the story"
                raise InputProblems([Fault(place="", problem=f"no file {name}", remedy=remedy)])
            return exercise_from_musicxml((folder / name).read_bytes(), music.text)


def _placed(fault: Fault, place: str) -> Fault:
    """A fault of the music itself, at the line of the story that holds it."""
    where = f"{fault.place}: " if fault.place else ""
    return Fault(place=place, problem=where + fault.problem, remedy=fault.remedy)
