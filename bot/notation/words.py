"""A reading in words, for those who hear it from a screen reader instead of seeing it."""

from __future__ import annotations

from bot.music.exercise import Exercise, Tone
from bot.music.pitch import Key, Mode, PitchName
from bot.music.rhythm import Metre, NoteValue
from bot.music.solfa import Naming, Solfa
from bot.notation.written import WrittenMeasure, WrittenNote, written_measures
from bot.wording import Wording

_OCTAVE = 7
_ACCIDENTALS = {
    -2: "music.double_flat",
    -1: "music.flat",
    1: "music.sharp",
    2: "music.double_sharp",
}
_VALUES = {
    "whole": "music.whole",
    "half": "music.half",
    "quarter": "music.quarter",
    "eighth": "music.eighth",
    "16th": "music.sixteenth",
    "32nd": "music.thirty_second",
}
_DOTS = {1: "music.dotted", 2: "music.double_dotted"}


def summary(exercise: Exercise, say: Wording) -> str:
    """One line without a full stop, such as `F major, 4/4, 8 measures`."""
    parts = {
        "key": key_words(exercise.key, say),
        "metre": metre_words(exercise.metre, say),
        "measures": say("music.measures", count=exercise.measures),
    }
    if exercise.pickup:
        return say("words.summary_pickup", **parts)
    return say("words.summary", **parts)


def rhythm_summary(exercise: Exercise, say: Wording) -> str:
    """One line without a full stop for a page of rhythm alone: `Rhythm, 4/4, 8 measures`."""
    metre = metre_words(exercise.metre, say)
    measures = say("music.measures", count=exercise.measures)
    key = "words.rhythm_pickup" if exercise.pickup else "words.rhythm"
    return say(key, metre=metre, measures=measures)


def describe(
    exercise: Exercise,
    solfa: Solfa,
    say: Wording,
    part: int = 0,
    *,
    hide_first: bool = False,
    rhythm_only: bool = False,
) -> str:
    """Tell a part note by note: key, metre, words, then every measure's syllables and values.

    `hide_first` keeps the first syllable back, for singers who are to find it themselves;
    `rhythm_only` tells a page that has neither key nor tones.
    """
    hidden = hide_first and not rhythm_only
    about = rhythm_summary(exercise, say) if rhythm_only else summary(exercise, say)
    sentences = [say("words.opening", summary=about)]
    if exercise.parts[part].words:
        sentences.append(say("words.sung", words=plain_words(exercise.parts[part].words)))
    texts = iter(exercise.parts[part].words)
    for measure in written_measures(exercise, part):
        told = []
        for note in measure.notes:
            is_first = hidden and note.tone is not None
            naming = None if rhythm_only else solfa
            sign = _sign(note, exercise, naming, say, hidden=is_first)
            text = "" if note.tone is None or note.held else next(texts, "")
            told.append(say("words.on", note=sign, word=text) if text else sign)
            hidden = hidden and not is_first
        sentences.append(_measure(measure, ", ".join(told), say))
    return " ".join(sentences)


def plain_words(words: tuple[str, ...]) -> str:
    """Syllables under notes as the text that they are.

    >>> plain_words(("Lan-", "terns", "glow."))
    'Lanterns glow.'
    """
    return "".join(
        word.removesuffix("-") if word.endswith("-") else f"{word} " for word in words
    ).strip()


def key_words(key: Key, say: Wording) -> str:
    """A key as it is spoken, such as `B flat major`."""
    tonic = pitch_words(key.tonic, say)
    match key.mode:
        case Mode.MAJOR:
            return say("music.major", tonic=tonic)
        case Mode.MINOR:
            return say("music.minor", tonic=tonic)


def metre_words(metre: Metre, say: Wording) -> str:
    """A metre as it is spoken: `4/4`, or `cut time`."""
    return say("music.cut_time") if metre.cut else str(metre)


def pitch_words(name: PitchName, say: Wording) -> str:
    """A pitch name as it is spoken, such as `F sharp`."""
    if name.alter == 0:
        return name.letter
    return say(_ACCIDENTALS[name.alter], letter=name.letter)


def value_words(value: NoteValue, say: Wording) -> str:
    """A note value as it is spoken, such as `dotted quarter`."""
    name = say(_VALUES[value.base])
    return say(_DOTS[value.dots], value=name) if value.dots else name


def _measure(measure: WrittenMeasure, notes: str, say: Wording) -> str:
    if measure.number == 0:
        return say("words.pickup", notes=notes)
    return say("words.measure", number=measure.number, notes=notes)


def _sign(
    note: WrittenNote, exercise: Exercise, solfa: Solfa | None, say: Wording, *, hidden: bool
) -> str:
    """A note or rest as it is spoken; without a way to name tones only how long it is."""
    if note.value is None:
        return say("words.measure_rest")
    value = value_words(note.value, say)
    if note.tone is None:
        return say("words.rest", value=value)
    if hidden:
        sung = say("words.first_note", value=value)
    elif note.held:
        sung = say("words.held", value=value)
    elif solfa is None:
        sung = value
    else:
        name = _name(note.tone, exercise.key, solfa, say)
        sung = say("words.note", name=name, value=value)
    return say("words.tied", note=sung) if note.tied else sung


def _name(tone: Tone, key: Key, solfa: Solfa, say: Wording) -> str:
    """A tone's name in the choir's way, with `low` or `high` outside the octave above its do."""
    match solfa.naming:
        case Naming.LETTERS:
            name = pitch_words(key.pitch(tone.step, tone.alter, 4).name, say)
        case Naming.NUMBERS:
            name = _number(solfa.name(tone, key), say)
        case Naming.SYLLABLES:
            name = solfa.name(tone, key)
    octaves = (tone.step - _home(key, solfa)) // _OCTAVE
    match octaves:
        case 0:
            return name
        case 1:
            return say("words.high", name=name)
        case -1:
            return say("words.low", name=name)
        case _:
            return say("words.very_high" if octaves > 0 else "words.very_low", name=name)


def _number(written: str, say: Wording) -> str:
    """A scale number as it is spoken: `4` and `♯4` are no amounts of quarters."""
    number = written.lstrip("♯♭")
    if number == written:
        return say("words.number", number=number)
    raised = written.startswith("♯")
    return say("words.sharp_number" if raised else "words.flat_number", number=number)


def _home(key: Key, solfa: Solfa) -> int:
    """The scale step that octaves are counted from: do, or la where minor counts from la."""
    tonic_counts = solfa.do_based_minor or solfa.naming is Naming.NUMBERS
    return -2 if key.mode is Mode.MINOR and tonic_counts else 0
