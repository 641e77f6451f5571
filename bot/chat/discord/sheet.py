"""Readings as sheets: what a message says, shows and sounds, before it is anything of Discord's."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from dataclasses import dataclass

from bot.errors import Refused
from bot.service.card import Arrangement, CardPart, Media, ReadingCard
from bot.service.readings import Readings
from bot.wording import Wording

_ALT_LIMIT = 1024  # characters of a file's description (documented)
_LABEL_LIMIT = 80  # characters on a button (documented)


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One file: a plain ASCII name, its bytes, and the same in words."""

    name: str
    data: bytes
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChoice:
    """A button that gives one part of a reading privately; `mark` stands for the delivery's key."""

    mark: str
    reading_id: str
    part: int
    arrangement: Arrangement
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One message: a title, one line, a picture, sounds, and a row of worded buttons."""

    line: str
    title: str | None = None
    picture: Piece | None = None
    sounds: tuple[Piece, ...] = ()
    choices: tuple[PartChoice, ...] = ()


def mark_of(card: ReadingCard) -> str:
    """The delivery's key (choir, date, slot) as 12 hex digits: by it a message is found again."""
    return hashlib.sha256(card.key.encode()).hexdigest()[:12]


class Sheets:
    """Makes sheets of cards; RenderFailed where a picture or sound cannot be made."""

    def __init__(self, readings: Readings, say: Wording) -> None:
        self._readings = readings
        self._say = say

    async def for_class(self, card: ReadingCard, *, preview: bool = False) -> Sheet:
        """The reading as the class sees it; a preview has no buttons."""
        say = self._say
        return Sheet(
            title=say("discord.title", day=say.date(card.on), choir=card.choir_name),
            line=say("discord.line", title=card.title, metre=card.metre, tempo=card.tempo_bpm),
            picture=await self._picture(card, 0, Arrangement.TOGETHER),
            sounds=await self._sounds_together(card),
            choices=() if preview else self._part_row(card),
        )

    async def for_part(self, card: ReadingCard, part: int, arrangement: Arrangement) -> Sheet:
        """One part's own line, key and starting note; Refused("reading.no_part")."""
        own, say = _part_of(card, part), self._say
        key = card.key_name if arrangement is Arrangement.TOGETHER else own.apart_key
        offers_home = arrangement is Arrangement.TOGETHER and own.apart_key != card.key_name
        sounds = [await self._key_sound(card, part, arrangement)]
        if card.gives_pitch:
            sounds.append(await self._start_sound(card, part, arrangement))
        return Sheet(
            title=say("discord.part_title", day=say.date(card.on), part=own.label),
            line=say("discord.part_line", key=key, metre=card.metre),
            picture=await self._picture(card, part, arrangement),
            sounds=tuple(sounds),
            choices=(self._home(card, part),) if offers_home else (),
        )

    async def for_key(self, card: ReadingCard) -> Sheet:
        """The key, and the starting notes where the choir is given them, without the line."""
        return Sheet(
            line=self._say("discord.key_line", key=card.key_name),
            sounds=await self._sounds_together(card),
        )

    def _part_row(self, card: ReadingCard) -> tuple[PartChoice, ...]:
        if len(card.parts) == 1:
            return (self._home(card, 0),)
        return tuple(
            PartChoice(
                mark=mark_of(card),
                reading_id=card.reading_id,
                part=index,
                arrangement=Arrangement.TOGETHER,
                label=self._say("discord.part_button", part=part.label)[:_LABEL_LIMIT],
            )
            for index, part in enumerate(card.parts)
        )

    def _home(self, card: ReadingCard, part: int) -> PartChoice:
        return PartChoice(
            mark=mark_of(card),
            reading_id=card.reading_id,
            part=part,
            arrangement=Arrangement.APART,
            label=self._say("discord.home_button", key=card.parts[part].apart_key),
        )

    async def _sounds_together(self, card: ReadingCard) -> tuple[Piece, ...]:
        sounds = [await self._key_sound(card, 0, Arrangement.TOGETHER)]
        if card.gives_pitch:
            sounds += [
                await self._start_sound(card, part, Arrangement.TOGETHER)
                for part in range(len(card.parts))
            ]
        return tuple(sounds)

    async def _picture(self, card: ReadingCard, part: int, arrangement: Arrangement) -> Piece:
        words = card.text
        if arrangement is Arrangement.APART:
            own = card.parts[part]
            words = self._say("discord.picture_apart", part=own.label, key=own.apart_key)
        return Piece(
            name=_file_name("line", card, part, "png"),
            data=await self._readings.media(card.reading_id, arrangement, part, Media.PICTURE),
            words=_fitting(words),
        )

    async def _key_sound(self, card: ReadingCard, part: int, arrangement: Arrangement) -> Piece:
        together = arrangement is Arrangement.TOGETHER
        key = card.key_name if together else card.parts[part].apart_key
        return Piece(
            name=_file_name("key", card, part, "mp3"),
            data=await self._readings.media(card.reading_id, arrangement, part, Media.KEY_SOUND),
            words=self._say("discord.key_sound", key=key),
        )

    async def _start_sound(self, card: ReadingCard, part: int, arrangement: Arrangement) -> Piece:
        return Piece(
            name=_file_name("start", card, part, "mp3"),
            data=await self._readings.media(card.reading_id, arrangement, part, Media.PITCH_SOUND),
            words=self._say("discord.start_sound", part=card.parts[part].label),
        )


def _part_of(card: ReadingCard, part: int) -> CardPart:
    if not 0 <= part < len(card.parts):
        raise Refused("reading.no_part", part=part + 1)
    return card.parts[part]


def _file_name(kind: str, card: ReadingCard, part: int, ending: str) -> str:
    """A name that Discord leaves as it is, and that a singer can tell in the player."""
    label = unicodedata.normalize("NFKD", card.parts[part].label).encode("ascii", "ignore").decode()
    plain = re.sub(r"[^A-Za-z0-9]+", "-", label).strip("-") or f"part-{part + 1}"
    pieces = [kind] if kind != "start" and part == 0 else [kind, plain[:40]]
    return f"{'-'.join(pieces)}-{card.on.isoformat()}.{ending}"


def _fitting(words: str) -> str:
    """As many whole lines as a description holds."""
    kept = words
    while len(kept) > _ALT_LIMIT and "\n" in kept:
        kept = kept.rpartition("\n")[0]
    return kept[:_ALT_LIMIT]
