"""The check of a story: every planted fault is found, and nothing on a sound one."""

from dataclasses import replace
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from bot.activities.story import Finale, Path
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.syllable import tone_of
from tests.activities.stories import (
    SMALL,
    faults,
    findings,
    random_story,
    scene,
    with_scene,
)


@settings(max_examples=60, deadline=None)
@given(st.integers(min_value=0, max_value=10**9))
def test_a_sound_story_of_any_shape_has_no_findings(seed):
    assert findings(random_story(Random(seed))) == []


def _votes(told):
    return [each for each in told.scenes if each.paths]


def _cut(told, random):
    """A path to nowhere."""
    chosen = random.choice(_votes(told))
    path = replace(chosen.paths[0], next="nowhere")
    return with_scene(told, replace(chosen, paths=(path, *chosen.paths[1:]))), (
        int(path.place.split(":")[1]), "leads to 'nowhere'",
    )  # fmt: skip


def _orphan(told, random):
    lost = scene("lost", line=900)
    return replace(told, scenes=(*told.scenes, lost)), (900, "no path leads to 'lost'")


def _trap(told, random):
    """Two scenes that lead to each other and nowhere else, in place of an ending."""
    ending = random.choice(told.endings)
    tone = told.first_tones()[ending.id][0]
    one = scene("one", ("do", "two"), ("mi", "three"), line=900)
    two = scene("two", ("so", "one"), ("mi", "three"), line=910)
    three = scene("three", ("do", "two"), ("so", "one"), line=920)
    trap = Path(label="In", syllable=tone_of("so"), next="one", place="s.toml:901")
    other = Path(label="On", syllable=tone_of("mi"), next="three", place="s.toml:902")
    assert tone is not None
    changed = with_scene(told, replace(ending, paths=(trap, other)))
    changed = replace(changed, scenes=(*changed.scenes, one, two, three))
    return changed, (900, "from 'one' the story never ends")


def _single(told, random):
    chosen = random.choice(_votes(told))
    line = int(chosen.place.split(":")[1])
    return with_scene(told, replace(chosen, paths=chosen.paths[:1])), (line, "1 paths from")


def _same_syllable(told, random):
    chosen = random.choice(_votes(told))
    first, second, *rest = chosen.paths
    path = replace(second, syllable=first.syllable)
    return with_scene(told, replace(chosen, paths=(first, path, *rest))), (
        int(path.place.split(":")[1]), "a second path on",
    )  # fmt: skip


def _two_into_one(told, random):
    """The same scene promised on two syllables."""
    pairs = [
        (each, path) for each in _votes(told) for path in each.paths
        if sum(other.next == path.next for _, other in told.all_paths()) > 1
    ]  # fmt: skip
    if not pairs:
        return told, None
    chosen, path = pairs[-1]
    changed = replace(path, syllable=tone_of("re"))
    paths = tuple(changed if each is path else each for each in chosen.paths)
    return with_scene(told, replace(chosen, paths=paths)), (None, "where another path leads on")


def _unread(told, random):
    chosen = random.choice(_votes(told))
    path = replace(chosen.paths[-1], syllable=tone_of("la"))
    return with_scene(told, replace(chosen, paths=(*chosen.paths[:-1], path))), (
        int(path.place.split(":")[1]), "la is not read yet at p04",
    )  # fmt: skip


def _other_key(told, random):
    chosen = random.choice(told.endings)
    line = int(chosen.place.split(":")[1])
    changed = replace(chosen, key=Key.parse("G"))
    return with_scene(told, changed), (line, f"{chosen.id!r} is in G on a branch in F")


def _twice(told, random):
    chosen = random.choice(told.scenes)
    again = replace(chosen, place="s.toml:900")
    return replace(told, scenes=(*told.scenes, again)), (900, f"a second scene {chosen.id!r}")


def _long(told, random):
    chosen = random.choice(told.scenes)
    line = int(chosen.place.split(":")[1])
    changed = replace(chosen, text="The cat sat. " * 40)
    return with_scene(told, changed), (line, "the text has 520 characters")


_PLANTS = (
    _cut, _orphan, _trap, _single, _same_syllable, _two_into_one, _unread, _other_key,
    _twice, _long,
)  # fmt: skip


@settings(max_examples=120, deadline=None)
@given(st.integers(min_value=0, max_value=10**9), st.sampled_from(_PLANTS))
def test_every_planted_fault_is_found_at_its_line(seed, plant):
    random = Random(seed)
    told, planted = plant(random_story(random), random)
    if planted is None:
        return

    found = faults(told)

    line, problem = planted
    assert any(problem in each and line in (None, at) for at, each in found), found


def test_a_start_that_is_no_scene_is_told_and_nothing_else_with_it():
    found = faults(replace(SMALL, start="door", places={"start": "s.toml:7"}))

    assert found[0] == (7, "there is no scene 'door'")


def test_the_finale_needs_its_lines_on_every_way():
    told = replace(SMALL, finale=Finale(parts=3))

    assert [problem for _, problem in faults(told)] == [
        "only 2 sung on the way gate > mill: the finale needs 3",
        "only 2 sung on the way gate > pond: the finale needs 3",
    ]


def test_a_new_part_goes_with_a_line_that_every_way_passes():
    mill = scene("mill", line=20, finale=Finale(new_part=True, against="gate"))
    pond = scene("pond", line=30, finale=Finale(new_part=True, against="mill"))

    found = faults(with_scene(with_scene(SMALL, mill), pond))

    assert found == [(30, "no line of 'mill' on the way gate > pond")]


def test_a_finale_before_the_end_and_labels_alike_are_told():
    gate = scene("gate", ("do", "mill"), ("so", "pond"), line=10, finale=Finale(parts=1))
    alike = tuple(replace(path, label="On") for path in gate.paths)

    problems = [problem for _, problem in faults(with_scene(SMALL, replace(gate, paths=alike)))]

    assert problems == ["a finale at 'gate', where the story goes on", "a second path 'On'"]


def test_a_branch_may_begin_in_a_key_of_its_own_after_a_scene_without_a_line():
    gate = scene("gate", ("do", "mill"), ("so", "pond"), line=10, words="")
    pond = scene("pond", line=30, key=Key.parse("G"))

    assert faults(with_scene(with_scene(SMALL, gate), pond)) == []


def test_steps_metre_and_length_that_there_are_not():
    assert "no sequence 'other'" in faults(replace(SMALL, sequence="other"))[0][1]
    assert "no such step" in faults(replace(SMALL, steps=("p99",)))[0][1]
    assert "lines of 5 measures" in faults(replace(SMALL, measures=5))[0][1]
    assert "3/4 at p04" in faults(replace(SMALL, metre=Metre(beats=3)))[0][1]
