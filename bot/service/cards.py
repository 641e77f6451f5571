"""A reading as the card that surfaces show. No I/O; cards that were made are remembered."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence

from bot.activities.choir import Choir
from bot.activities.reading import Origin, Reading, reading_key
from bot.activities.tempo import reading_tempo_bpm
from bot.music.pitch import Key, Mode
from bot.notation.words import describe
from bot.service.card import CardPart, ReadingCard
from bot.service.placing import as_read
from bot.service.shown_page import page_shown
from bot.wording import Wording

_KEPT = 512


class Cards:
    """Cards of readings, each made once as long as its reading and its choir are what they were.

    To say a line in words takes milliseconds, and a school opens a thousand boards at once.
    """

    def __init__(self, say: Wording) -> None:
        self._say = say
        self._made: OrderedDict[str, tuple[Reading, Choir, ReadingCard]] = OrderedDict()

    def of(self, reading: Reading, choir: Choir) -> ReadingCard:
        """The card of a reading, as `card_of` makes it."""
        made = self._made.pop(reading.id, None)
        if made is None or made[:2] != (reading, choir):
            made = (reading, choir, card_of(reading, choir, self._say))
        self._made[reading.id] = made
        if len(self._made) > _KEPT:
            self._made.popitem(last=False)
        return made[2]


def card_of(reading: Reading, choir: Choir, say: Wording) -> ReadingCard:
    """The card of a reading, in words of the choir's dialect."""
    exercise, metre = reading.exercise, reading.exercise.metre
    key_name = key_in_words(exercise.key, say)
    bare = page_shown(reading, choir).rhythm_only
    parts = tuple(
        _card_part(reading, index, choir, say, bare=bare) for index in range(len(reading.parts))
    )
    return ReadingCard(
        key=reading_key(reading.choir_id, reading.on, reading.slot),
        reading_id=reading.id,
        choir_id=choir.id,
        choir_name=choir.name,
        on=reading.on,
        title=title_of(reading, say, bare=bare),
        key_name=key_name,
        metre=str(metre),
        measures=exercise.measures,
        tempo_bpm=reading_tempo_bpm(exercise, choir.presentation.tempo_bpm),
        pulses=metre.pulses,
        count_in=metre.count_in_measures,
        text=_text(reading, parts, say),
        parts=parts,
        gives_pitch=choir.presentation.give_pitch,
        own_music_title=reading.title,
        rhythm_only=bare,
        has_words=any(part.words for part in exercise.parts),
        lines=len(exercise.parts),
    )


def _text(reading: Reading, parts: Sequence[CardPart], say: Wording) -> str:
    """The line in words; where parts read different lines, each part's under its label."""
    if len(reading.exercise.parts) == 1:
        return parts[0].text
    return "\n".join(say("companion.part", label=each.label, text=each.text) for each in parts)


def title_of(reading: Reading, say: Wording, *, bare: bool = False) -> str:
    """The name of own music, else how long the line is and in which key; `bare`: without tones."""
    exercise = reading.exercise
    if bare:
        return reading.title or say("reading.rhythm_title", count=exercise.measures)
    key = key_in_words(exercise.key, say)
    return reading.title or say("reading.title", count=exercise.measures, key=key)


def summary_of(reading: Reading, choir: Choir, say: Wording) -> str:
    """Metre and tempo in a few words, for the desk."""
    exercise = reading.exercise
    bpm = reading_tempo_bpm(exercise, choir.presentation.tempo_bpm)
    if reading.origin is Origin.OWN:
        return say("reading.own_summary", metre=exercise.metre, bpm=bpm)
    return say("reading.summary", metre=exercise.metre, bpm=bpm)


def _card_part(reading: Reading, index: int, choir: Choir, say: Wording, *, bare: bool) -> CardPart:
    part, read = reading.parts[index], as_read(reading, index)
    return CardPart(
        voice=part.voice,
        label=part.label,
        start=str(read.first_pitch().name),
        apart_key=key_in_words(part.apart_key, say),
        text=describe(read, choir.presentation.solfa, say, hide_first=True, rhythm_only=bare),
    )


def key_in_words(key: Key, say: Wording) -> str:
    """A key's name, such as `B♭ major`."""
    if key.mode is Mode.MAJOR:
        return say("reading.major", tonic=key.tonic)
    return say("reading.minor", tonic=key.tonic)
