"""A reading as its sheet shows it: addresses of pictures and sounds, words, tempo, parts."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date

from bot import __version__
from bot.activities.choir import Choir, Hearing
from bot.music.rhythm import Metre, note_value
from bot.service.card import Arrangement, Media, ReadingCard
from bot.wording import Wording

_BEATS_FOR_CURTAIN = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class PartView:
    """One voice's line: its public label, its sounds, and where to read it at home."""

    number: int
    label: str
    start: str
    key_sound: str
    pitch_sound: str
    line_sound: str
    home: str
    home_key: str
    turned: str  # where its pages and its note for other ways lie, up to the way
    mark: str
    clip: str  # the film to sing along with; empty for a line that is too short for the curtain


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetView:
    """One sheet. `pulse` names the note that beats.

    `staffs` are the labels of the parts whose clefs can be chosen, where they differ; `staff`
    counts from 0 and is the one whose clef and octave the picture has. `hearing` says who opens the
    line for hearing, and `signs` is where the times of its signs are; `all_sound` is every part at
    once, None where all read one line.
    """

    card: ReadingCard
    day: str
    short_day: str
    today: bool
    unfolded: bool
    picture: str
    phone_picture: str
    pulse: str
    words: tuple[str, ...]
    parts: tuple[PartView, ...]
    staffs: tuple[str, ...]
    staff: int
    hearing: Hearing
    signs: str
    all_sound: str | None


def media_url(reading_id: str, arrangement: Arrangement, part: int, kind: Media, mark: str) -> str:
    """Address of a picture or sound; `mark` changes whenever its bytes may have changed."""
    return f"/media/{reading_id}/{arrangement.value}/{part}/{kind.value}?v={mark}"


def media_mark(card: ReadingCard, choir: Choir) -> str:
    """Eight hex digits of all that the bytes of a reading's media depend on."""
    looks = repr((__version__, card, choir.voices, choir.presentation, choir.key))
    return hashlib.sha256(looks.encode()).hexdigest()[:8]


def pulse_name(metre: str) -> str:
    """Name of the beating note, such as `quarter` or `dotted-quarter`."""
    value = note_value(Metre.parse(metre).pulse)
    if value is None:
        return "quarter"
    return "dotted-" * value.dots + value.base


def day_words(say: Wording, on: date, today: date) -> str:
    """A date as a sheet's tab shows it; the year only where it is not this one."""
    return say.date(on) if on.year == today.year else say.date(on, "EEEE, MMMM d, y")


def sheet_of(
    card: ReadingCard,
    choir: Choir,
    say: Wording,
    *,
    today: date,
    unfolded: bool,
    staff: int = 0,
    home: int | None = None,
) -> SheetView:
    """The sheet of a card, in the clef of the part `staff`.

    With `home`, one part read alone in its own key. Both count from 0.
    """
    mark = media_mark(card, choir)
    arrangement = Arrangement.TOGETHER if home is None else Arrangement.APART

    def url(part: int, kind: Media) -> str:
        return media_url(card.reading_id, arrangement, part, kind, mark)

    parts = tuple(
        PartView(
            number=index + 1,
            label=part.label,
            start=part.start,
            key_sound=url(index, Media.KEY_SOUND),
            pitch_sound=url(index, Media.PITCH_SOUND),
            line_sound=url(index, Media.LINE_SOUND),
            home=f"/reading/{card.reading_id}/part/{index + 1}",
            home_key=part.apart_key,
            turned=f"/turned/{card.reading_id}/{index}",
            mark=mark,
            clip=f"/clip/{card.reading_id}/{index}.mp4?v={mark}" if _has_room(card) else "",
        )
        for index, part in enumerate(card.parts)
    )
    shown = home if home is not None else min(staff, len(parts) - 1)
    return SheetView(
        card=card,
        day=day_words(say, card.on, today),
        short_day=say.date(card.on, "EEE, MMM d"),
        today=card.on == today,
        unfolded=unfolded,
        picture=url(shown, Media.PICTURE_SVG),
        phone_picture=url(shown, Media.PHONE_PICTURE),
        pulse=pulse_name(card.metre),
        words=tuple(line for line in card.text.splitlines() if line.strip()),
        parts=parts if home is None else parts[home : home + 1],
        staffs=_staffs(card, choir) if home is None and card.lines == 1 else (),
        staff=shown,
        hearing=choir.hearing,
        all_sound=url(0, Media.ALL_SOUND) if home is None and card.lines > 1 else None,
        signs=f"/reading/{card.reading_id}/signs/{shown + 1}/{arrangement.value}",
    )


def _has_room(card: ReadingCard) -> bool:
    """Whether beats enough lie behind the first measure for the curtain to fall among them."""
    return (card.measures - 1) * card.pulses >= _BEATS_FOR_CURTAIN


def _staffs(card: ReadingCard, choir: Choir) -> tuple[str, ...]:
    clefs = {voice.voice: voice.clef for voice in choir.voices}
    if len({clefs.get(part.voice) for part in card.parts}) < 2:
        return ()
    return tuple(part.label for part in card.parts)
