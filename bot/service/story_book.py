"""A whole story to take home: every scene with text, picture and sounds, every possible end.

Plain values; `story_print.py` makes paper of them and the room one HTML file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bot.activities.story import Scene
from bot.activities.story_music import FinaleMusic, SceneLine, SetStory
from bot.activities.tempo import reading_tempo_bpm
from bot.media.render import make
from bot.media.request import (
    Engraved,
    EngravingRequest,
    KeyGiving,
    Line,
    SoundRequest,
    StartingNote,
)
from bot.music.exercise import Exercise
from bot.music.solfa import Solfa
from bot.music.voice import Clef
from bot.notation.pronouncing import sung_words
from bot.notation.words import describe, key_words
from bot.service.cards import key_in_words
from bot.service.content import Content
from bot.service.signs import sign_svg, sign_words

_MIDDLE_C, _LOW_A = 60, 57  # a part below C4 has the bass clef; one that dips below A3 the octave's
_SOLFA = Solfa()
_START_S = 3.0  # of the starting note; a book has many


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """Music on a page: pictures as SVG, sounds as MP3, words for those who listen.

    `start_sound` comes before singing, `line_sound` after it.
    """

    key_name: str
    key_spoken: str
    start: str
    picture: str
    phone_picture: str
    words: str
    start_sound: bytes
    line_sound: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOn:
    """One path: sign as SVG and in words, syllable, label, number and id of the scene."""

    sign: str
    sign_words: str
    syllable: str
    label: str
    number: int
    scene: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EndSheet:
    """One end: `lines` are the words of the lines that sound together, as they were sung."""

    lines: tuple[str, ...]
    sheet: Sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaf:
    """One scene; `number` from 1 in the order of the file."""

    id: str
    number: int
    paragraphs: tuple[str, ...]
    sheet: Sheet | None
    ways_on: tuple[WayOn, ...]
    ends: tuple[EndSheet, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoryBook:
    """A story as it goes home; the first leaf is its start.

    `keys` has each key that is sung in with the sound that gives it: one, but for branches apart.
    """

    title: str
    about: str
    keys: tuple[tuple[str, bytes], ...]
    leaves: tuple[Leaf, ...]


def story_book(told: SetStory, content: Content) -> StoryBook:
    """Make every picture and sound of a story: a second for five scenes. RenderFailed."""
    story = told.story
    order = [story.scene(story.start), *(s for s in story.scenes if s.id != story.start)]
    numbers = {scene.id: number for number, scene in enumerate(order, start=1)}
    return StoryBook(
        title=story.title,
        about=story.about,
        keys=_keys(told, content),
        leaves=tuple(_leaf(scene, told, numbers, content) for scene in order),
    )


def _keys(told: SetStory, content: Content) -> tuple[tuple[str, bytes], ...]:
    found: dict[str, bytes] = {}
    for line in told.lines.values():
        key = line.exercise.key
        name = key_in_words(key, content.wording)
        if name not in found:
            tempo = reading_tempo_bpm(line.exercise, None)
            do = key.pitch(0, 0, line.exercise.parts[0].do_octave)
            giving = KeyGiving(key=key, do=do, tempo_bpm=tempo)
            found[name] = make(SoundRequest(sound=giving, light=True))
    return tuple(found.items())


def _leaf(scene: Scene, told: SetStory, numbers: dict[str, int], content: Content) -> Leaf:
    line = told.lines.get(scene.id)
    key = line.exercise.key if line else next(iter(told.lines.values())).exercise.key
    ways_on = tuple(
        WayOn(
            sign=sign_svg(content, path.syllable),
            sign_words=sign_words(content.wording, path.syllable),
            syllable=_SOLFA.name(path.syllable, key),
            label=path.label,
            number=numbers[path.next],
            scene=path.next,
        )
        for path in scene.paths
    )
    return Leaf(
        id=scene.id,
        number=numbers[scene.id],
        paragraphs=tuple(scene.text.split("\n\n")),
        sheet=sheet_of(line, content) if line else None,
        ways_on=ways_on,
        ends=tuple(_ends(scene, told, content)) if scene.ending else (),
    )


def _ends(scene: Scene, told: SetStory, content: Content) -> Iterator[EndSheet]:
    """Each different end that a class may have earned when it comes to a scene."""
    seen: set[tuple[str, ...]] = set()
    for way, finale in told.finales.items():
        if way[-1] == scene.id and finale.scenes not in seen:
            seen.add(finale.scenes)
            sung = [each for each in way if each in finale.scenes and each]
            yield EndSheet(
                lines=tuple(plain_line(told.story.scene(each)) for each in sung),
                sheet=sheet_of(finale, content),
            )


def plain_line(scene: Scene) -> str:
    """The words of a scene's line as they are read, without the author's marks."""
    if scene.line is None or not scene.line.words:
        return ""
    syllables = sung_words(scene.line.words).words.syllables
    return "".join(each.text if each.goes_on else f"{each.text} " for each in syllables).rstrip()


def clefs_of(exercise: Exercise) -> tuple[Clef, ...]:
    """The clef in which each part lies best."""
    clefs = []
    for number in range(len(exercise.parts)):
        heights = [pitch.midi for pitch in exercise.pitches(number)]
        clef = Clef.TREBLE8 if min(heights) < _LOW_A else Clef.TREBLE
        clefs.append(Clef.BASS if max(heights) <= _MIDDLE_C else clef)
    return tuple(clefs)


def picture_of(music: SceneLine | FinaleMusic, content: Content) -> EngravingRequest:
    """How the music of a scene or an end is engraved: words below, parts named where several."""
    parts = len(music.exercise.parts)
    say = content.wording
    labels = tuple(say("choir.part", numeral="I" * (n + 1)) for n in range(parts))
    return EngravingRequest(
        exercise=music.exercise,
        clefs=clefs_of(music.exercise),
        labels=labels if parts > 1 else (),
        kind=Engraved.SVG,
        sheet=True,
        width_px=1200,
    )


def sheet_of(music: SceneLine | FinaleMusic, content: Content) -> Sheet:
    """Pictures, words and sounds of one piece of music. RenderFailed."""
    say, exercise = content.wording, music.exercise
    picture = picture_of(music, content)
    phone = EngravingRequest(
        exercise=exercise, clefs=picture.clefs, labels=picture.labels, kind=Engraved.SVG, phone=True
    )
    line = Line(exercise=exercise, tempo_bpm=reading_tempo_bpm(exercise, None))
    start = StartingNote(pitch=exercise.first_pitch(), seconds=_START_S)
    parts = range(len(exercise.parts))
    return Sheet(
        key_name=key_in_words(exercise.key, say),
        key_spoken=key_words(exercise.key, say),
        start=str(exercise.first_pitch().name),
        picture=make(picture).decode(),
        phone_picture=make(phone).decode(),
        words=" ".join(describe(exercise, _SOLFA, say, part) for part in parts),
        start_sound=make(SoundRequest(sound=start, light=True)),
        line_sound=make(SoundRequest(sound=line, light=True)),
    )
