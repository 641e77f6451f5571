"""A line for words that belongs to no choir, and what to tell of how the words were read."""

from __future__ import annotations

from dataclasses import dataclass

from bot.errors import Fault, InputProblems
from bot.music.exercise import Exercise
from bot.music.level import level_of
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.set_to_words import SungWords, set_to_words
from bot.music.turns import turned
from bot.music.voice import DEFAULT_RANGES
from bot.music.word_reading import WordsRead
from bot.notation.pronouncing import sung_words
from bot.service.content import Content
from bot.service.loose_reading import Wish
from bot.wording import Wording


@dataclass(frozen=True, slots=True, kw_only=True)
class WordedLine:
    """The line, and sentences about words that were guessed or bent."""

    exercise: Exercise
    remarks: tuple[str, ...]


def compose_words(wish: Wish, text: str, first: str | None, content: Content) -> WordedLine:
    """Set a text to music at the steps of a wish; InputProblems or NoExercise say why not.

    A line to be read from its last note loses its words, and a remark says so.
    """
    faults: list[Fault] = []
    if wish.criteria or wish.both_ways:
        problem = "words go neither with criteria nor with a line read both ways"
        faults.append(Fault(place="--words", problem=problem))
    key = metre = None
    try:
        key = Key.parse(wish.key) if wish.key else None
    except ValueError as error:
        faults.append(Fault(place="--key", problem=str(error)))
    try:
        metre = Metre.parse(wish.metre) if wish.metre else None
    except ValueError as error:
        faults.append(Fault(place="--metre", problem=str(error)))
    sequence = content.sequences[wish.sequence]
    level = read = None
    try:
        level = level_of(sequence, wish.steps)
    except InputProblems as problems:
        faults += problems.faults
    try:
        read = sung_words(text)
    except InputProblems as problems:
        faults += problems.faults
    if faults or level is None or read is None:
        raise InputProblems(faults)
    sung = set_to_words(
        sequence,
        level,
        (DEFAULT_RANGES[wish.voice],),
        read.words,
        first=first,
        key=key,
        metre=metre,
        measures=wish.measures,
        seed=wish.seed,
    )
    remarks = word_remarks(read, sung, content.wording)
    made = turned(sung.exercise, wish.turn) if wish.turn else sung.exercise
    if not all(part.words for part in made.parts):
        remarks = (*remarks, content.wording("words.turned"))
    return WordedLine(exercise=made, remarks=remarks)


def word_remarks(read: WordsRead, sung: SungWords, say: Wording) -> tuple[str, ...]:
    """What an author should know: words that no dictionary has, stress that is bent."""
    remarks = [
        say("words.guessed", word=guess.word, read_as=guess.read_as) for guess in read.guessed
    ]
    if sung.bent:
        remarks.append(say("words.bent", words=", ".join(sung.bent)))
    if sung.less_new:
        remarks.append(say("words.less_new"))
    return tuple(remarks)
