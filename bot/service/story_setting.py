"""Sets a whole story to music: every line for a choir's voices, and a finale for every way.

All lines share one ground and one key, so that lines of a way can sound together. The opening is
composed freely; after it, lines at every second stop and at the endings are composed to sound with
the opening, the others freely. Then every way is tried; where no lines match, one of its lines is
composed anew against another.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from bot.activities.story import Finale, Scene, first_ways, tellings
from bot.activities.story_check import StoryReport
from bot.activities.story_finding import Finding, in_order, warning
from bot.activities.story_music import FinaleMusic, SceneLine, SetStory
from bot.activities.story_steps import level_of_story
from bot.errors import Fault, InputProblems, NoExercise
from bot.music.exercise import Exercise, Tone
from bot.music.parts import PART_RANGES
from bot.music.pitch import Key
from bot.music.placement import tones_within
from bot.music.shared_ground import shared_ground
from bot.music.variants import placements
from bot.music.voice import DEFAULT_RANGES, Voice, VoiceRange
from bot.service.content import Content
from bot.service.makings import Said, say_nothing
from bot.service.story_files import LoadedStory, written_music
from bot.service.story_finale import Stacker, once_more
from bot.service.story_lines import LineMaker, tellable

_ATTEMPTS = 4  # new lines that are tried against each partner where the lines of a way do not match
_TWO = 2
_REFUSALS = 2  # of lines that start on one syllable, before no more partners are sought for them
_TRIES = 16  # new lines in all


def set_story(
    loaded: LoadedStory,
    content: Content,
    ranges: Sequence[VoiceRange],
    *,
    seed: int = 0,
    said: Said = say_nothing,
) -> SetStory:
    """Compose a story for a choir's ranges, the highest first. Takes seconds.

    `said` hears how many lines are there, of how many. The same story, ranges, seed and release
    give the same music. InputProblems lists every line that cannot be composed and every ending
    that has no finale, with file and line.
    """
    maker = line_maker(loaded, content, ranges, seed=seed)
    return _Setting(maker, said).run()


def line_maker(
    loaded: LoadedStory, content: Content, ranges: Sequence[VoiceRange], *, seed: int = 0
) -> LineMaker:
    """What the lines of a story have in common; InputProblems for steps and music."""
    story = loaded.story
    level, findings = level_of_story(story, content.sequences)
    if level is None:
        raise InputProblems(finding.fault for finding in findings)
    metre = story.metre or level.metres[0][0]
    return LineMaker(
        story=story,
        steps=content.sequences[story.sequence],
        level=level,
        ranges=tuple(ranges),
        ground=shared_ground(level.tones, metre, story.measures, seed=seed),
        own=written_music(loaded),
        say=content.wording,
        seed=seed,
    )


def ranges_of(voices: Sequence[Voice]) -> tuple[VoiceRange, ...]:
    """The usual ranges of the voices that a story is written for, one for each."""
    divided = PART_RANGES.get((voices[0], len(voices)))
    if len(set(voices)) == 1 and divided is not None:
        return divided
    return tuple(DEFAULT_RANGES[voice] for voice in voices)


def composed_report(report: StoryReport, loaded: LoadedStory, content: Content) -> StoryReport:
    """The report on a sound story with what keeps its music from being composed as well.

    For the usual ranges of the voices that the story names; words whose stress could not stand on
    a strong beat are warnings.
    """
    try:
        told = set_story(loaded, content, ranges_of(loaded.story.voices))
    except InputProblems as problems:
        found = [Finding(fault=fault) for fault in problems.faults]
    else:
        found = [
            warning(told.story.scene(scene).at("sing"), f"{word!r} is stressed against its beat")
            for scene, line in told.lines.items()
            for word in line.bent
        ]
    return replace(report, findings=in_order((*report.findings, *found)))


class _Setting:
    """One story on its way to music: the lines found so far and the ways that still lack an end."""

    def __init__(self, maker: LineMaker, said: Said) -> None:
        self._maker, self._story, self._said = maker, maker.story, said
        self._lines: dict[str, SceneLine] = {}
        self._way_to = first_ways(maker.story)
        self._keys: dict[Key | None, Key] = {}  # the room's key for each key of the author
        self._faults: list[Fault] = []
        self._stacker = Stacker(maker.ranges, maker.ground, maker.level.tones)
        self._tries = _TRIES
        self._refused: Counter[Tone | None] = Counter()
        self._known: dict[tuple[tuple[str, ...], Finale], FinaleMusic | None] = {}

    def run(self) -> SetStory:
        """Every line, then every finale."""
        sung = [scene for scene in self._story.scenes if scene.line is not None]
        for number, scene in enumerate(sorted(sung, key=self._turn)):
            self._said(number, len(sung))
            self._compose(scene)
        self._said(len(sung), len(sung))
        if self._faults:
            raise InputProblems(self._faults)
        ways = tellings(self._story)
        for way in ways:
            if self._finale(way) is None:
                self._mend(way)
        # A line that was mended may have belonged to a way that matched before.
        finales = {way: self._finale(way) or self._alone(way) for way in ways}
        self._faults += [self._unmatched(way) for way, found in finales.items() if found is None]
        if self._faults:
            raise InputProblems(self._faults)
        return SetStory(
            story=self._story,
            lines={scene.id: self._lines[scene.id] for scene in self._sung()},
            finales={way: finale for way, finale in finales.items() if finale is not None},
        )

    def _turn(self, scene: Scene) -> tuple[bool, int]:
        """When a scene's line is composed: the author's own music first, then from the start on."""
        return scene.id not in self._maker.own, len(self._way_to[scene.id])

    def _sung(self) -> list[Scene]:
        return [scene for scene in self._story.scenes if scene.id in self._lines]

    def _compose(self, scene: Scene) -> None:
        """The line of a scene, to sound with lines before it where it can and should."""
        wished = self._story.key_of(scene)
        key = self._keys[wished] if wished in self._keys else self._room_key(wished)
        partners = self._partners(scene)
        seen = [line.main for line in self._lines.values()]
        tries: list[tuple[tuple[Exercise, ...], Key | None, Sequence[Exercise]]] = [
            (partners[:count], key, seen) for count in range(min(len(partners), 2), -1, -1)
        ]
        tries.append(((), key, ()))
        if wished not in self._keys:
            tries.append(((), None, ()))  # the author's key does not suit these voices
        refusal: NoExercise | None = None
        for against, tried, read in tries:
            try:
                line = self._maker.line(scene, tried, against=against, seen=read)
            except NoExercise as forbidden:
                refusal = refusal or forbidden
                self._refused[self._first(scene)] += bool(against)
                continue
            except InputProblems as problems:
                self._faults += problems.faults
                return
            self._lines[scene.id] = line
            self._keys.setdefault(wished, line.exercise.key)
            return
        assert refusal is not None
        self._faults += tellable(refusal, self._maker.say, scene)

    def _first(self, scene: Scene) -> Tone | None:
        return next(iter(self._maker.firsts[scene.id]), None)

    def _hopeless(self, scene: Scene) -> bool:
        """Whether no partner was found again and again for lines that start as this one does.

        To find that there is none takes long; lines that start on other syllables make the ends.
        """
        return self._refused[self._first(scene)] >= _REFUSALS

    def _room_key(self, wished: Key | None) -> Key | None:
        """The author's key if every voice can sing every tone of the step in it, else the best."""
        level, ranges = self._maker.level, self._maker.ranges
        for keys in ((wished,) if wished else (), ()):
            try:
                found = placements(level, ranges, keys)
            except NoExercise:
                continue
            for placement in found:
                if len(tones_within(level, placement, ranges)) == len(level.tones):
                    return placement.key
        return wished

    def _partners(self, scene: Scene) -> tuple[Exercise, ...]:
        """Lines on the first way to a scene with which its own is to sound."""
        before = [each for each in self._way_to[scene.id][:-1] if each in self._lines]
        parts = self._story.finale_of(scene).parts if scene.ending else self._story.finale.parts
        if not before:  # the opening sounds with the author's own music
            return tuple(self._lines[each].main for each in self._maker.own if each in self._lines)
        if parts < 2 or (len(before) % 2 and not scene.ending) or self._hopeless(scene):
            return ()
        return (self._lines[before[0]].main,)

    def _finale(self, way: tuple[str, ...]) -> FinaleMusic | None:
        """The end of a way from the lines as they are."""
        finale = self._story.finale_of(self._story.scene(way[-1]))
        scenes = tuple(dict.fromkeys(scene for scene in way if scene in self._lines))
        asked = (tuple(sorted(scenes)), finale)
        if asked not in self._known:
            self._known[asked] = self._found(scenes, finale)
        return self._known[asked]

    def _found(self, scenes: tuple[str, ...], finale: Finale) -> FinaleMusic | None:
        if finale.new_part:
            return self._new_part(finale.against or scenes[-1])
        if finale.parts == 1:
            return once_more(scenes[-1], self._lines[scenes[-1]])
        lines = [self._lines[scene].main for scene in scenes]
        found = self._stacker.best(scenes, lines, finale.parts)
        # A choir of fewer voices than the author thought of may have no end in three parts.
        fewer = finale.parts > len(self._maker.ranges) and finale.parts > _TWO
        return self._stacker.best(scenes, lines, _TWO) if found is None and fewer else found

    def _new_part(self, against: str) -> FinaleMusic | None:
        """A new part to the line of a scene, on its words."""
        old = self._lines[against].main
        scene = self._story.scene(against)
        for attempt in range(_ATTEMPTS):
            try:
                new = self._maker.part(scene, old, attempt=attempt)
            except NoExercise:
                return None
            found = self._stacker.best((against, ""), (old, new), 2)
            if found is not None:
                return found
        return None

    def _alone(self, way: tuple[str, ...]) -> FinaleMusic | None:
        """For a choir of other voices than the author's: the last line once more, or nothing."""
        scenes = [scene for scene in way if scene in self._lines]
        if self._maker.ranges == ranges_of(self._story.voices) or not scenes:
            return None
        return once_more(scenes[-1], self._lines[scenes[-1]])

    def _mend(self, way: tuple[str, ...]) -> bool:
        """Compose one line of a way anew until the way has an end and no other lost its own."""
        scenes = [each for each in dict.fromkeys(way) if each in self._lines]
        for attempt in range(1, _ATTEMPTS + 1):
            for scene in (each for each in scenes[:0:-1] if each not in self._maker.own):
                for partner in scenes[: scenes.index(scene)]:
                    if self._tries == 0:
                        return False
                    self._tries -= 1
                    if self._try(scene, partner, attempt) and self._finale(way) is not None:
                        return True
        return False

    def _try(self, scene_id: str, partner: str, attempt: int) -> bool:
        """Another line for a scene; kept where fewer ways are without an end."""
        before, known = self._lines[scene_id], dict(self._known)
        touched = [way for way in tellings(self._story) if scene_id in way]
        missing = sum(self._finale(way) is None for way in touched)
        scene = self._story.scene(scene_id)
        if self._hopeless(scene):
            return False
        seen = [line.main for other, line in self._lines.items() if other != scene_id]
        against = (self._lines[partner].main,)
        try:
            line = self._maker.line(
                scene, before.exercise.key, against=against, seen=seen, attempt=attempt
            )
        except (NoExercise, InputProblems):
            self._refused[self._first(scene)] += 1
            return False
        self._lines[scene_id] = line
        self._known = {asked: found for asked, found in known.items() if scene_id not in asked[0]}
        if sum(self._finale(way) is None for way in touched) < missing:
            return True
        self._lines[scene_id], self._known = before, known
        return False

    def _unmatched(self, way: tuple[str, ...]) -> Fault:
        ending = self._story.scene(way[-1])
        return Fault(
            place=ending.at("finale"),
            problem=f"no lines of the way {' > '.join(way)} sound well together",
            remedy="other words for one of its lines, fewer parts, or a new part",
        )
