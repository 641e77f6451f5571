"""A line for words that belongs to no choir, and what to tell of how the words were read."""

from __future__ import annotations

from bot.errors import Fault, InputProblems
from bot.music.set_to_words import SungWords, set_to_words
from bot.music.turns import turned
from bot.music.voice import DEFAULT_RANGES
from bot.music.word_reading import WordsRead
from bot.music.word_tables import WordTables
from bot.notation.pronouncing import sung_words
from bot.service.content import Content
from bot.service.loose_reading import LooseLine, Wish, wished
from bot.service.step_words import without_newest
from bot.wording import Wording


def compose_words(
    wish: Wish,
    text: str,
    first: str | None,
    content: Content,
    tables: WordTables | None = None,
) -> LooseLine:
    """Set a text to music at the steps of a wish; InputProblems or NoExercise say why not.

    Remarks are about words that were guessed or bent, and the newest skill where it gave way. A
    line to be read from its last note loses its words, and a remark says so. `tables` are those of
    other lines for the same text.
    """
    faults: list[Fault] = []
    if wish.criteria is not None or wish.both_ways:
        problem = "words go neither with criteria nor with a line read both ways"
        faults.append(Fault(place="--words", problem=problem))
    if first is not None and not first.strip():
        problem = f"{first!r} is no syllable of the scale"
        faults.append(Fault(place="--first", problem=problem, remedy="write for example so"))
    found = read = None
    try:
        found = wished(wish, content)
    except InputProblems as problems:
        faults += problems.faults
    try:
        read = sung_words(text)
    except InputProblems as problems:
        faults += problems.faults
    if faults or found is None or read is None:
        raise InputProblems(faults)
    sequence, level, key, metre = found
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
        tables=tables,
    )
    remarks = word_remarks(read, sung, content.wording)
    remarks += without_newest(sung.exercise, level, content.wording)
    made = turned(sung.exercise, wish.turn) if wish.turn else sung.exercise
    if not all(part.words for part in made.parts):
        remarks = (*remarks, content.wording("words.turned"))
    return LooseLine(exercise=made, remarks=remarks)


def word_remarks(read: WordsRead, sung: SungWords, say: Wording) -> tuple[str, ...]:
    """What an author should know: words that no dictionary has, stress that is bent."""
    remarks = []
    if read.guessed:
        words = ", ".join(f"'{guess.word}'" for guess in read.guessed)
        read_as = ", ".join(guess.read_as for guess in read.guessed)
        count = len(read.guessed)
        remarks.append(say("words.guessed", count=count, words=words, read_as=read_as))
    if sung.bent:
        remarks.append(say("words.bent", words=", ".join(sung.bent)))
    if sung.less_new:
        remarks.append(say("words.less_new"))
    return tuple(remarks)
