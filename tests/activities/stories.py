"""Stories made for tests: small ones by hand, random sound ones of any shape."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from random import Random

from bot.activities.story import Finale, Path, Scene, Story, SungLine
from bot.activities.story_check import check_story
from bot.activities.story_topics import parse_topics
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.step import parse_sequence
from bot.music.syllable import tone_of
from bot.music.voice import Voice
from tests.fakes.world import CONTENT

SYLLABLES = ("do", "mi", "so")


def scene(scene_id, *paths, line=0, words="Hum the old song", **fields):
    """A scene whose paths are (syllable, next); `line` is its place in the file."""
    made = tuple(
        Path(
            label=f"Go {number} to {following}",
            syllable=tone_of(syllable),
            next=following,
            place=f"s.toml:{line + number}",
        )
        for number, (syllable, following) in enumerate(paths, start=1)
    )
    sung = SungLine(words=words, place=f"s.toml:{line}") if words else None
    text = fields.pop("text", "The cat sat on the mat.")
    return Scene(id=scene_id, text=text, line=sung, paths=made, place=f"s.toml:{line}", **fields)


def story(*scenes, **fields):
    """A story of scenes, the first of them its start."""
    given = {
        "id": "s",
        "title": "S",
        "about": "",
        "grades": (5, 6),
        "voices": (Voice.TREBLE,),
        "sequence": "steps-first",
        "steps": ("p04", "r04"),
        "start": scenes[0].id,
        "scenes": tuple(scenes),
        "key": Key.parse("F"),
        "metre": Metre(),
        "finale": Finale(parts=1),
        "place": "s.toml:1",
    }
    return Story(**(given | fields))


def random_story(random: Random) -> Story:
    """A sound story: layers of scenes, each vote to scenes of different syllables, some loops."""
    layers = [[f"l{depth}-{n}" for n in range(random.randint(3, 6))] for depth in range(4)]
    layers[0] = layers[0][:1]
    syllable = {
        name: SYLLABLES[(n + depth) % 3] for depth, row in enumerate(layers)
        for n, name in enumerate(row)
    }  # fmt: skip
    paths: dict[str, list[str]] = {name: [] for row in layers for name in row}
    for above, row in pairwise(layers):
        for name in above:
            for each in random.sample(SYLLABLES, random.choice((2, 3))):
                paths[name].append(random.choice([n for n in row if syllable[n] == each]))
    reached = {layers[0][0], *(each for nexts in paths.values() for each in nexts)}
    waiting = [layers[0][0]]
    reached = set(waiting)
    while waiting:
        for each in paths[waiting.pop()]:
            if each not in reached:
                reached.add(each)
                waiting.append(each)
    back = random.choice([name for name in layers[2] if name in reached])
    free = set(SYLLABLES) - {syllable[name] for name in paths[back]}
    target = random.choice([name for name in layers[1] if name in reached])
    if syllable[target] in free:
        paths[back].append(target)
    names = [name for row in layers for name in row if name in reached]
    made = [
        scene(name, *((syllable[each], each) for each in paths[name]), line=10 * (n + 1))
        for n, name in enumerate(names)
    ]
    return story(*made)


def with_scene(told: Story, changed: Scene) -> Story:
    """A story with one scene in place of the one of its id."""
    scenes = tuple(changed if each.id == changed.id else each for each in told.scenes)
    return replace(told, scenes=scenes)


_STEPS = CONTENT / "sequences" / "steps-first.toml"
SEQUENCES = {"steps-first": parse_sequence(_STEPS.read_text("utf-8"), "steps-first.toml")}
TOPICS = parse_topics((CONTENT / "topics" / "protected.toml").read_text("utf-8"), "protected.toml")
SMALL = story(
    scene("gate", ("do", "mill"), ("so", "pond"), line=10),
    scene("mill", line=20),
    scene("pond", line=30),
)


def findings(told, music=None):
    report = check_story(told, SEQUENCES, TOPICS, music)
    return [(each.line, each.fault.problem, each.warning) for each in report.findings]


def faults(told, music=None):
    return [(line, problem) for line, problem, mild in findings(told, music) if not mild]


def warnings(told, music=None):
    return [(line, problem) for line, problem, mild in findings(told, music) if mild]
