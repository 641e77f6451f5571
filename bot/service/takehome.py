"""Sheets to take home: readings with pictures, sounds and words, for a page or for paper."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from bot.activities.calendar import local_day
from bot.activities.choir import Choir, Hearing
from bot.activities.plan import days_from
from bot.activities.reading import Reading
from bot.activities.way import Way
from bot.errors import InputProblems, NoExercise, Refused
from bot.music.page_options import PageOptions
from bot.notation.words import describe, key_words, pitch_words
from bot.service.card import Arrangement, Media, ReadingCard
from bot.service.cards import card_of, key_in_words
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.composing import Composing
from bot.service.media_requests import MediaSource, media_request
from bot.service.placing import as_read, as_read_apart
from bot.service.shown_page import page_shown
from bot.service.turned_media import WITH_PAGE, turned_request
from bot.store.database import Database
from bot.store.readings import current_reading
from bot.wording import Wording

_WEEK = timedelta(days=7)
# Lines are not drawn farther ahead: the choir will have moved on by then.
AHEAD = timedelta(days=35)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sung:
    """One way to read a line: pictures as SVG, sounds as MP3, words for those who listen.

    Names of keys and notes come twice, written (`B♭`) and spoken (`B flat`). `picture_name` says
    what the pictures show, without a key where that is the rhythm alone. `start_sound` is None
    where the note is to be found from do, `line_sound` where the line is not to be heard.
    """

    key_name: str
    key_spoken: str
    start: str
    start_spoken: str
    picture_name: str
    picture: str
    phone_picture: str
    words: str
    key_sound: bytes
    start_sound: bytes | None
    line_sound: bytes | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HomePart:
    """One voice's part, as it is read in class; `own` is the same line in a key of its own.

    `turned` has the pages of the ways that have one, as SVG by way, as for a phone; `turned_wide`
    as for paper; both are empty on a substitute's sheet. `back_sound` is the first note from the
    right as MP3, None where it is to be found from do; `loses_words` says that the line has words,
    and from the right is sung without them.
    """

    label: str
    together: Sung
    own: Sung | None
    turned: Mapping[str, str] = field(default_factory=dict)
    turned_wide: Mapping[str, str] = field(default_factory=dict)
    back_sound: bytes | None = None
    loses_words: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeSheet:
    """One reading to take along."""

    card: ReadingCard
    parts: tuple[HomePart, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeFolder:
    """The sheets of a week by date, and the meeting days for which no line could be made.

    `day` is the one date of a folder with a single sheet, None for a week.
    """

    choir: Choir
    monday: date
    sheets: tuple[HomeSheet, ...]
    without: tuple[date, ...] = ()
    day: date | None = None

    @property
    def begins(self) -> date:
        """The date that names the folder."""
        return self.day or self.monday

    def title(self, say: Wording) -> str:
        """What the folder is called."""
        if self.day is not None:
            return say("takehome.heading", choir=self.choir.name, day=say.date(self.day))
        day = say.date(self.monday, "MMMM d, y")
        return say("takehome.title", choir=self.choir.name, day=day)


class TakeHome:
    """Gathers sheets; lines of coming days are drawn as the desk would draw them."""

    def __init__(
        self,
        database: Database,
        choirs: Choirs,
        composing: Composing,
        media: MediaSource,
        clock: Clock,
        say: Wording,
    ) -> None:
        self._database = database
        self._choirs = choirs
        self._composing = composing
        self._media = media
        self._clock = clock
        self._say = say

    async def week(
        self, choir_id: str, on: date | None = None, page: PageOptions | None = None
    ) -> HomeFolder:
        """The week in which a date lies, this one if none is given.

        `page` is for these sheets alone, None for the choir's own.
        Days that are over show what was read; Refused("takehome.far") for weeks too far ahead,
        Refused("takehome.empty") where a week has nothing to read.
        """
        choir, today, on = await self._asked(choir_id, on, page)
        monday = on - timedelta(days=on.weekday())
        readings, without = [], []
        for day in [monday + timedelta(days=n) for n in range(7)]:
            found = await self._reading(choir, day, today)
            if isinstance(found, Reading):
                readings.append(found)
            elif found:
                without.append(day)
        if not readings:
            raise Refused("takehome.empty", day=self._say.date(monday))
        return HomeFolder(
            choir=choir,
            monday=monday,
            sheets=tuple([await self._sheet(each, choir) for each in readings]),
            without=tuple(without),
        )

    async def day(
        self, choir_id: str, on: date | None = None, page: PageOptions | None = None
    ) -> HomeFolder:
        """The reading of one date alone, today's if none is given; `page` as for a week.

        Refused("takehome.far"), Refused("takehome.empty_day").
        """
        choir, today, on = await self._asked(choir_id, on, page)
        found = await self._reading(choir, on, today)
        if not isinstance(found, Reading):
            raise Refused("takehome.empty_day", day=self._say.date(on))
        sheet = await self._sheet(found, choir)
        monday = on - timedelta(days=on.weekday())
        return HomeFolder(choir=choir, monday=monday, sheets=(sheet,), day=on)

    async def _asked(
        self, choir_id: str, on: date | None, page: PageOptions | None
    ) -> tuple[Choir, date, date]:
        """The choir with the page that is asked for, its date of today, the date asked for."""
        choir = await self._choirs.get(choir_id)
        if page is not None:
            choir = replace(choir, presentation=replace(choir.presentation, page=page))
        today = local_day(self._clock.now(), choir.zone)
        on = today if on is None else on
        if on - today > AHEAD:
            raise Refused("takehome.far", day=self._say.date(today + AHEAD))
        return choir, today, on

    async def _sheet(self, reading: Reading, choir: Choir) -> HomeSheet:
        hear = choir.hearing is Hearing.TRY
        return await home_sheet(reading, choir, self._media, self._say, hear=hear, alone=True)

    async def _reading(self, choir: Choir, on: date, today: date) -> Reading | bool:
        """The reading of a date; else whether there should be one."""
        async with self._database.snapshot() as read:
            kept = await current_reading(read, choir.id, on)
        if kept is not None:
            return kept
        due = next(days_from(choir, on), None)
        if on < today or due is None or due.on != on:
            return False
        try:
            return await self._composing.ensure(choir.id, on)
        except (NoExercise, InputProblems):
            return True


async def home_sheet(
    reading: Reading, choir: Choir, media: MediaSource, say: Wording, *, hear: bool, alone: bool
) -> HomeSheet:
    """One reading with all its parts. RenderFailed.

    `alone` adds each part in a key of its own and its pages read other ways, `hear` the line
    itself: once for every part that is read alone, else once for the room.
    """
    parts, bare = [], page_shown(reading, choir).rhythm_only  # a rhythm has no key of its own
    for index, part in enumerate(reading.parts):
        has_own = not bare and alone and as_read_apart(reading, index) != as_read(reading, index)
        here = hear and not has_own and (alone or index == 0)
        together = await _sung(reading, choir, Arrangement.TOGETHER, index, media, say, hear=here)
        own = None
        if has_own:
            own = await _sung(reading, choir, Arrangement.APART, index, media, say, hear=hear)
        made = HomePart(label=part.label, together=together, own=own)
        parts.append(await _with_ways(made, reading, choir, index, media) if alone else made)
    return HomeSheet(card=card_of(reading, choir, say), parts=tuple(parts))


async def _with_ways(
    made: HomePart, reading: Reading, choir: Choir, part: int, media: MediaSource
) -> HomePart:
    async def bytes_of(way: Way, kind: Media) -> bytes:
        return await media.get_or_make(turned_request(reading, choir, part, way, kind))

    turned, wide = {}, {}
    for way in WITH_PAGE:
        with contextlib.suppress(Refused):  # a line in which no measure can be hidden
            turned[way.value] = (await bytes_of(way, Media.PHONE_PICTURE)).decode()
            wide[way.value] = (await bytes_of(way, Media.SHEET_PICTURE)).decode()
    back = None
    if choir.presentation.give_pitch:
        back = await bytes_of(Way.RETROGRADE, Media.PITCH_SOUND)
    lost = any(line.words for line in as_read(reading, part).parts)
    return replace(made, turned=turned, turned_wide=wide, back_sound=back, loses_words=lost)


async def _sung(
    reading: Reading,
    choir: Choir,
    arrangement: Arrangement,
    part: int,
    media: MediaSource,
    say: Wording,
    *,
    hear: bool,
) -> Sung:
    async def bytes_of(kind: Media) -> bytes:
        return await media.get_or_make(media_request(reading, choir, arrangement, part, kind))

    apart = arrangement is Arrangement.APART
    line = as_read_apart(reading, part) if apart else as_read(reading, part)
    start = line.first_pitch().name
    shown, bare = choir.presentation, page_shown(reading, choir).rhythm_only
    count, metre = line.measures, str(line.metre)
    return Sung(
        picture_name=say("board.rhythm_picture", count=count, metre=metre)
        if bare
        else say("takehome.picture", key=key_words(line.key, say)),
        key_name=key_in_words(line.key, say),
        key_spoken=key_words(line.key, say),
        start=str(start),
        start_spoken=pitch_words(start, say),
        picture=(await bytes_of(Media.SHEET_PICTURE)).decode(),
        phone_picture=(await bytes_of(Media.PHONE_PICTURE)).decode(),
        words=describe(line, shown.solfa, say, hide_first=True, rhythm_only=bare),
        key_sound=await bytes_of(Media.KEY_SOUND),
        start_sound=await bytes_of(Media.PITCH_SOUND) if shown.give_pitch else None,
        line_sound=await bytes_of(Media.LINE_SOUND) if hear else None,
    )
