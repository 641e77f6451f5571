"""The playful readings on Discord: a film to sing along with, the line another way, a mystery tune.

Every answer is private, and nothing is kept of who asked or of what was chosen.
"""

from __future__ import annotations

from bot.activities.way import Way
from bot.chat.discord.door import Call
from bot.chat.discord.opening import opening_for
from bot.chat.discord.read_work import ReadWork
from bot.chat.discord.sheet import Button, Piece, Press, Sheet, name_in, name_press
from bot.chat.discord.sheets import LABEL_LIMIT, Sheets, file_name
from bot.errors import Refused
from bot.service.card import Media, ReadingCard
from bot.service.mystery import Mystery
from bot.service.services import Services
from bot.service.tune_book import told_of

WAYS = tuple(way for way in Way if way not in (Way.PLAIN, Way.LINE_BY_LINE))  # for one alone
_HIDDEN = "SPOILER_"  # Discord covers a file of such a name until it is pressed


class PlayfulWork:
    """What is asked of the line that is up, and of the tune that is before the class."""

    def __init__(self, services: Services, sheets: Sheets, read: ReadWork) -> None:
        self._services = services
        self._sheets = sheets
        self._read = read
        self._say = services.content.wording

    async def film(self, call: Call, wanted: str | None) -> Sheet:
        """A film of one part, the first where none is named; Refused("curtain.short")."""
        card, part = await self._read.newest_part(call, wanted)
        data = await self._services.play.clips.clip(card.reading_id, part)
        title = self._say("clip.name")
        film = Piece(name=file_name("film", card, part, "mp4"), data=data, words=title)
        about = [self._say("clip.private"), self._say("clip.silent"), self._say("clip.care")]
        if await self._services.seating.spans.asked_in(card.choir_id):
            about.append(self._say("span.on_discord"))
        return Sheet(title=title, line="\n\n".join(about), files=(film,))

    async def ways(self, call: Call) -> list[str]:
        """The names of the ways, to be offered while one is typed."""
        return [self._name(way) for way in WAYS]

    async def way(self, call: Call, wanted: str, part_wanted: str | None) -> Sheet:
        """The line that is up in one way: what to do, its page, its own first note, its answer."""
        names = {self._name(way).casefold(): way for way in WAYS}
        way = names.get(wanted.strip().casefold())
        if way is None:
            raise Refused("way.unknown", ways=", ".join(self._name(each) for each in WAYS))
        card, part = await self._read.newest_part(call, part_wanted)
        plain = await self._sheets.for_reading_part(card, part)
        say, sounds = self._say, plain.files
        match way:
            case Way.PLAIN | Way.ONLY_DO | Way.ECHO_HALVES | Way.LINE_BY_LINE:
                hint, picture = say(f"way.hint.{way}"), plain.picture
            case Way.CURTAIN:
                hint, picture = say("way.slip"), plain.picture
            case Way.RHYTHM_ONLY:
                hint, sounds = say(f"way.hint.{way}"), ()
                picture = await self._page(card, part, way, say("way.rhythm_page"))
            case Way.HIDDEN_MEASURES:
                hint = say("way.hidden_page")
                picture = await self._page(card, part, way, say(f"way.name.{way}"))
            case Way.RETROGRADE:
                hint, picture = say(f"way.hint.{way}"), plain.picture
                sounds = (*plain.files[:1], *await self._back(card, part))
        return Sheet(title=self._name(way), line=hint, picture=picture, files=sounds)

    async def tune(self, call: Call) -> Sheet:
        """The mystery tune that is before the class: its page, its key, a button a name."""
        opening = await opening_for(call, self._services)
        found = await self._services.play.mysteries.latest(opening.link.choir_id)
        if found is None:
            raise Refused("tune.nothing")
        plain = await self._sheets.for_reading_part(found.card, 0)
        title, line = self._say("tune.name"), self._say("tune.hint.inward")
        if found.told is not None:
            return Sheet(title=title, line=self._told(found), picture=plain.picture)
        return Sheet(
            title=title,
            line=f"{line}\n\n{self._say('tune.ask')}",
            picture=plain.picture,
            files=plain.files,
            rows=(tuple(self._button(found.card, name) for name in found.names),),
        )

    async def named(self, call: Call, press: Press) -> Sheet:
        """Whether a name is right; nothing of it is kept."""
        reading_id, mark = name_in(press)
        opening = await opening_for(call, self._services)
        mysteries, choir_id = self._services.play.mysteries, opening.link.choir_id
        found = await mysteries.find(choir_id, reading_id)
        buttons = {name_press(found.card, name).words[1]: name for name in found.names}
        if mark not in buttons:
            raise Refused("discord.old_button")
        tune = await mysteries.guess(choir_id, reading_id, buttons[mark])
        if tune is None:
            return Sheet(line=f"{self._say('tune.wrong')}\n\n{self._say('tune.yours')}")
        told = (self._say("tune.right", title=tune.title), *told_of(tune, self._say))
        return Sheet(line="\n\n".join(told))

    def _told(self, found: Mystery) -> str:
        assert found.told is not None
        return "\n\n".join(
            (self._say("tune.right", title=found.told.title), *told_of(found.told, self._say))
        )

    def _button(self, card: ReadingCard, name: str) -> Button:
        return Button(press=name_press(card, name), label=name[:LABEL_LIMIT])

    def _name(self, way: Way) -> str:
        return self._say(f"way.name.{way}")

    async def _page(self, card: ReadingCard, part: int, way: Way, words: str) -> Piece:
        data = await self._services.play.turned.get(card.reading_id, part, way, Media.PICTURE)
        return Piece(name=file_name("page", card, part, "png"), data=data, words=words)

    async def _back(self, card: ReadingCard, part: int) -> tuple[Piece, ...]:
        """The first note from the right, where notes are given, and the covered answer."""
        turned, back = self._services.play.turned, Way.RETROGRADE
        answer = await turned.get(card.reading_id, part, back, Media.PICTURE)
        words = self._say("way.answer_page")
        name = _HIDDEN + file_name("answer", card, part, "png")
        pieces = [Piece(name=name, data=answer, words=words)]
        if card.gives_pitch:
            note = await turned.get(card.reading_id, part, back, Media.PITCH_SOUND)
            words, name = self._say("way.back_note"), file_name("start", card, part, "mp3")
            pieces.insert(0, Piece(name=name, data=note, words=words))
        return tuple(pieces)
