"""The whole check of a story on the disk: the file, its words and music, everything else."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from bot.activities.story import Scene
from bot.activities.story_check import StoryReport, check_story
from bot.activities.story_finding import Finding, fault, warning
from bot.errors import InputProblems
from bot.music.exercise import Exercise
from bot.music.patterns import ticks
from bot.music.word_fit import bent_words
from bot.music.words import Words
from bot.notation.pronouncing import sung_words
from bot.service.content import Content
from bot.service.story_files import LoadedStory, written_music


def check_loaded(loaded: LoadedStory, content: Content) -> StoryReport:
    """Check a story that was read, its words and its author's music with it."""
    found: list[Finding] = []
    music: Mapping[str, Exercise] = {}
    try:
        music = written_music(loaded)
    except InputProblems as problems:
        found += (Finding(fault=each) for each in problems.faults)
    for scene in loaded.story.scenes:
        found += _words(scene, music.get(scene.id))
    return check_story(loaded.story, content.sequences, content.topics, music, found)


def _words(scene: Scene, music: Exercise | None) -> Iterator[Finding]:
    """Words that cannot be read, that no dictionary has, or that do not fit the music."""
    if scene.line is None or not scene.line.words:
        return
    place = scene.line.place
    try:
        read = sung_words(scene.line.words)
    except InputProblems as problems:
        for each in problems.faults:
            yield fault(place, each.problem, each.remedy)
        return
    marked = {_letters(word) for word in scene.line.words.split() if "^" in word or "_" in word}
    for guess in read.guessed:
        if _letters(guess.word) in marked:
            continue
        problem = f"no dictionary has {guess.word!r}: read as {guess.read_as}"
        yield warning(place, problem, "mark it if that is wrong, as in lan-tern or ^lan-tern")
    if music is not None:
        notes, syllables = len(music.parts[0].tones()), len(read.words.syllables)
        if notes != syllables:
            problem = f"{syllables} syllables for {notes} notes"
            yield fault(place, problem, "one note a syllable")
            return
        for word in _bent(music, read.words):
            problem = f"the music stresses {word!r} otherwise than it is spoken"
            yield warning(place, problem, "move the word, or mark its stress as in ^lan-tern")


def _bent(music: Exercise, words: Words) -> tuple[str, ...]:
    """Words whose stress lies on a weaker beat than their neighbour."""
    struck = []
    tied = False
    for offset, note in music.parts[0].timed():
        if note.tone is not None and not tied:
            strength = music.metre.strength(offset - music.pickup)
            struck.append((strength, ticks(note.duration)))
        tied = note.tied
    return bent_words(words, [at for at, _ in struck], [size for _, size in struck])


def _letters(word: str) -> str:
    """A word without marks, hyphens and stops."""
    return "".join(letter for letter in word.casefold() if letter.isalnum())


def unread_report(problems: InputProblems) -> dict[str, object]:
    """What JSON says of a story whose file cannot be read: unsound, with every fault."""
    findings = [Finding(fault=each) for each in problems.faults]
    return {
        "version": 1,
        "sound": False,
        "faults": [
            {
                "place": each.fault.place,
                "line": each.line,
                "problem": each.fault.problem,
                "remedy": each.fault.remedy,
                "warning": False,
            }
            for each in findings
        ],
    }
