"""Readings as sheets, with the bytes that they show and sound."""

from __future__ import annotations

import re
import unicodedata

from bot.activities.taps import Went
from bot.chat.discord.sheet import (
    Button,
    Piece,
    Sheet,
    part_press,
    read_press,
    term_press,
    vote_press,
)
from bot.errors import Refused
from bot.service.card import Arrangement, Card, CardPart, Media, ReadingCard, ScoreCard, StoryCard
from bot.service.readings import Readings
from bot.wording import Wording

_ALT_LIMIT = 1024  # characters of a file's description (documented)
LABEL_LIMIT = 80  # characters on a button (documented)
_ROW = 5  # buttons in a row (documented)


class Sheets:
    """Makes sheets of cards; RenderFailed where a picture or sound cannot be made."""

    def __init__(self, readings: Readings, say: Wording) -> None:
        self._readings = readings
        self._say = say

    async def of(self, card: Card, *, taps: bool) -> Sheet:
        """Any card as the whole class sees it."""
        match card:
            case ReadingCard():
                return await self.for_class(card, taps=taps)
            case StoryCard():
                return await self.for_story(card)
            case ScoreCard():
                return self.for_score(card)

    async def for_class(
        self, card: ReadingCard, *, preview: bool = False, taps: bool = False
    ) -> Sheet:
        """The reading as the class sees it; a preview has no buttons.

        `taps`: singers may say how it went, and the class's counts grow by it.
        """
        say = self._say
        return Sheet(
            title=say("discord.title", day=say.date(card.on), choir=card.choir_name),
            line=say("discord.line", title=card.title, metre=card.metre, tempo=card.tempo_bpm),
            picture=await self._class_picture(card),
            files=await self._sounds_together(card),
            rows=() if preview else (*self._part_rows(card), self._read_row(card, taps=taps)),
        )

    async def for_story(self, card: StoryCard) -> Sheet:
        """The scene of the day: how the class came here, the text, its line, a button a path."""
        votes = tuple(
            Button(
                press=vote_press(card, path),
                label=self._say("discord.vote_button", syllable=syllable, path=label)[:LABEL_LIMIT],
            )
            for path, (syllable, label) in enumerate(card.strips)
        )
        texts = (card.came_by, card.text, card.state)
        return Sheet(
            title=card.title,
            line="\n\n".join(text for text in texts if text),
            picture=await self._class_picture(card.line),
            files=await self._sounds_together(card.line),
            rows=(*((votes,) if votes else ()), *self._part_rows(card.line)),
        )

    def for_score(self, card: ScoreCard) -> Sheet:
        """How a match stands; the button tells of the term, and carries the mark."""
        button = Button(press=term_press(card), label=self._say("match.term.title"))
        return Sheet(title=card.title, line=card.line, rows=((button,),))

    async def for_part(self, card: ReadingCard, part: int, arrangement: Arrangement) -> Sheet:
        """One part's own line, key and starting note; Refused("reading.no_part")."""
        own, say = _part_of(card, part), self._say
        key, words, offers_home = card.key_name, own.text, own.apart_key != card.key_name
        if arrangement is Arrangement.APART:
            key, offers_home = own.apart_key, False
            words = say("discord.picture_apart", part=own.label, key=key)
        sounds = [await self._key_sound(card, part, arrangement)]
        if card.gives_pitch:
            sounds.append(await self._start_sound(card, part, arrangement))
        return Sheet(
            title=say("discord.part_title", day=say.date(card.on), part=own.label),
            line=say("discord.part_line", key=key, metre=card.metre),
            picture=await self._picture(card, part, arrangement, words, say("discord.rest")),
            files=tuple(sounds),
            rows=((self._home(card, part),),) if offers_home else (),
        )

    async def for_reading_part(self, card: ReadingCard, part: int) -> Sheet:
        """A part's page, the key and its starting note, without a word or button of its own."""
        sheet = await self.for_part(card, part, Arrangement.TOGETHER)
        return Sheet(line="", picture=sheet.picture, files=sheet.files)

    async def for_key(self, card: ReadingCard) -> Sheet:
        """The key, and the starting notes where the choir is given them, without the line."""
        return Sheet(
            line=self._say("discord.key_line", key=card.key_name),
            files=await self._sounds_together(card),
        )

    async def for_hearing(self, card: ReadingCard) -> Sheet:
        """The line itself, for after a try; Refused("stage.closed") while it is not to be heard."""
        sounds = []
        for part in range(len(card.parts) if card.lines > 1 else 1):
            data = await self._readings.media(
                card.reading_id, Arrangement.TOGETHER, part, Media.LINE_SOUND
            )
            words = self._say("discord.line_sound", part=card.parts[part].label)
            name = file_name("heard", card, part, "mp3")
            sounds.append(Piece(name=name, data=data, words=words))
        return Sheet(line=self._say("discord.hear_line"), files=tuple(sounds))

    def _part_rows(self, card: ReadingCard) -> tuple[tuple[Button, ...], ...]:
        if len(card.parts) == 1:
            return ((self._home(card, 0),),)
        buttons = [
            Button(
                press=part_press(card, index, Arrangement.TOGETHER),
                label=self._say("discord.part_button", part=part.label)[:LABEL_LIMIT],
            )
            for index, part in enumerate(card.parts)
        ]
        return tuple(tuple(buttons[at : at + _ROW]) for at in range(0, len(buttons), _ROW))

    def _home(self, card: ReadingCard, part: int) -> Button:
        return Button(
            press=part_press(card, part, Arrangement.APART),
            label=self._say("discord.home_button", key=card.parts[part].apart_key),
        )

    def _read_row(self, card: ReadingCard, *, taps: bool) -> tuple[Button, ...]:
        """The button of having read it, with how it went where that is counted."""
        if not taps:
            return (Button(press=read_press(card, None), label=self._say("seat.tap")),)
        return tuple(
            Button(
                press=read_press(card, went),
                label=self._say("discord.read_button", went=self._say(f"seat.went.{went}").lower()),
            )
            for went in Went
        )

    async def _sounds_together(self, card: ReadingCard) -> tuple[Piece, ...]:
        sounds = [await self._key_sound(card, 0, Arrangement.TOGETHER)]
        if card.gives_pitch:
            sounds += [
                await self._start_sound(card, part, Arrangement.TOGETHER)
                for part in range(len(card.parts))
            ]
        return tuple(sounds)

    async def _class_picture(self, card: ReadingCard) -> Piece:
        rest = self._say("discord.rest_by_part" if card.lines > 1 else "discord.rest")
        return await self._picture(card, 0, Arrangement.TOGETHER, card.text, rest)

    async def _picture(
        self, card: ReadingCard, part: int, arrangement: Arrangement, words: str, rest: str
    ) -> Piece:
        """The line as a picture; `rest` is said where its words do not all fit."""
        return Piece(
            name=file_name("line", card, part, "png"),
            data=await self._readings.media(card.reading_id, arrangement, part, Media.PICTURE),
            words=_fitting(words, rest),
        )

    async def _key_sound(self, card: ReadingCard, part: int, arrangement: Arrangement) -> Piece:
        together = arrangement is Arrangement.TOGETHER
        key = card.key_name if together else card.parts[part].apart_key
        return Piece(
            name=file_name("key", card, part, "mp3"),
            data=await self._readings.media(card.reading_id, arrangement, part, Media.KEY_SOUND),
            words=self._say("discord.key_sound", key=key),
        )

    async def _start_sound(self, card: ReadingCard, part: int, arrangement: Arrangement) -> Piece:
        return Piece(
            name=file_name("start", card, part, "mp3"),
            data=await self._readings.media(card.reading_id, arrangement, part, Media.PITCH_SOUND),
            words=self._say("discord.start_sound", part=card.parts[part].label),
        )


def _part_of(card: ReadingCard, part: int) -> CardPart:
    if not 0 <= part < len(card.parts):
        raise Refused("reading.no_part", part=part + 1)
    return card.parts[part]


def file_name(kind: str, card: ReadingCard, part: int, ending: str) -> str:
    """A name that Discord leaves as it is, and that a singer can tell in the player."""
    label = unicodedata.normalize("NFKD", card.parts[part].label).encode("ascii", "ignore").decode()
    plain = re.sub(r"[^A-Za-z0-9]+", "-", label).strip("-") or f"part-{part + 1}"
    pieces = [kind] if kind != "start" and part == 0 else [kind, plain[:40]]
    return f"{'-'.join(pieces)}-{card.on.isoformat()}.{ending}"


def _fitting(words: str, rest: str) -> str:
    """As many whole lines as a description holds, and what is said of the rest."""
    if len(words) <= _ALT_LIMIT:
        return words
    room = _ALT_LIMIT - len(rest) - 1
    kept = words
    while len(kept) > room and "\n" in kept:
        kept = kept.rpartition("\n")[0]
    return f"{kept[:room]}\n{rest}"
