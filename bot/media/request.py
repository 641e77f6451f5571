"""What can be asked for, as values: everything that is needed to make the bytes, and a name for it.

Importing this module costs nothing: no numpy, no engraver. A request travels to the worker and its
digest is the bytes' name in the cache.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from bot import __version__
from bot.music.exercise import Exercise
from bot.music.page_options import PageOptions
from bot.music.pitch import Key, Pitch
from bot.music.solfa import Solfa
from bot.music.tonality import KeyPattern
from bot.music.voice import Clef


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyGiving:
    """The tonality pattern of a key, from the do of the line's octave, at a tempo in pulses."""

    key: Key
    do: Pitch
    pattern: KeyPattern = KeyPattern.TRIAD
    tempo_bpm: int = 66


@dataclass(frozen=True, slots=True, kw_only=True)
class StartingNote:
    """One note, held for `seconds`, three at least."""

    pitch: Pitch
    seconds: float = 3.5

    def __post_init__(self) -> None:
        object.__setattr__(self, "seconds", float(self.seconds))


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """The line itself, all parts of the exercise, at a tempo in pulses."""

    exercise: Exercise
    tempo_bpm: int = 66


@dataclass(frozen=True, slots=True, kw_only=True)
class Drone:
    """Do for as long as it is wanted: a sound to be played round and round."""

    do: Pitch


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundRequest:
    """A sound as MP3; `a4_hz` between 430 and 450.

    `light` takes less than half the bytes at the same quality, for a page that carries many sounds.
    """

    sound: KeyGiving | StartingNote | Line | Drone
    a4_hz: float = 440.0
    light: bool = False

    def __post_init__(self) -> None:
        # 440 and 440.0 are one pitch, but two texts.
        object.__setattr__(self, "a4_hz", float(self.a4_hz))

    def digest(self) -> str:
        """64 hex digits that name these bytes as this release makes them."""
        return _digest(self)


class Engraved(StrEnum):
    """What an engraving is wanted as."""

    SVG = "svg"
    PNG = "png"
    MUSICXML = "musicxml"


@dataclass(frozen=True, slots=True, kw_only=True)
class EngravingRequest:
    """A picture, or the written music behind it, of an exercise.

    One clef per part, and one label per part or none. `phone` engraves two measures a system for a
    narrow screen, `sheet` with staves of one size on every picture; else music is as large as it
    can be. `width_px` is the width of the picture. `do_name` is what the choir calls do, and
    `do_is_tonic` moves the mark to the tonic in minor, for choirs that call it do. `page` says what
    a picture has beside the notes, named as `solfa` names it; written music leaves it out but for
    the rhythm alone. Rests that fill one of the measures `emptied` are not drawn: nothing stands
    there.
    """

    exercise: Exercise
    clefs: tuple[Clef, ...]
    kind: Engraved = Engraved.PNG
    labels: tuple[str, ...] = ()
    mark_do: bool = True
    do_name: str = "do"
    do_is_tonic: bool = False
    measure_numbers: bool = True
    tempo_bpm: int | None = None
    phone: bool = False
    sheet: bool = False
    width_px: int = 1600
    page: PageOptions = field(default_factory=PageOptions)
    solfa: Solfa = field(default_factory=Solfa)
    emptied: tuple[int, ...] = ()

    def digest(self) -> str:
        """64 hex digits that name these bytes as this release makes them."""
        return _digest(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Captions:
    """What stands under the music in a clip: one sentence for each of its scenes, in order."""

    key: str
    start: str
    count: str
    sing: str
    away: str
    again: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipRequest:
    """A film of one line to sing along with: key, count-in, page, curtain, page again; as MP4.

    `curtain` counts pulses from the beginning of the line to the moment at which the page goes.
    `gives_pitch`: the starting note sounds after the key. The line itself never sounds.
    """

    exercise: Exercise
    clef: Clef
    curtain: Fraction
    captions: Captions
    tempo_bpm: int = 66
    pattern: KeyPattern = KeyPattern.TRIAD
    a4_hz: float = 440.0
    gives_pitch: bool = True
    mark_do: bool = True
    do_name: str = "do"
    do_is_tonic: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "a4_hz", float(self.a4_hz))

    def digest(self) -> str:
        """64 hex digits that name these bytes as this release makes them."""
        return _digest(self)


MediaRequest = SoundRequest | EngravingRequest | ClipRequest


def _digest(request: MediaRequest) -> str:
    """Hash the request's own text: a frozen dataclass writes out every field of every value.

    A field that is added later is therefore in the name without a word here, and a new release
    never shows pictures of an older one.
    """
    return hashlib.sha256(f"{__version__}\n{request!r}".encode()).hexdigest()
