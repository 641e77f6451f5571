"""Partner lines: what is composed against a line, and what is stacked, judged by music21 too."""

from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import pytest
from music21.interval import Interval
from music21.note import Note as Music21Note
from music21.pitch import Pitch as Music21Pitch

from bot.errors import NoExercise
from bot.music.breach import Rule
from bot.music.check_parts import PartRules, check_parts
from bot.music.checker import check
from bot.music.partners import best_partners, check_partners, stack_partners
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.set_to_words import set_to_words
from bot.music.shared_ground import shared_ground
from bot.music.voice import DEFAULT_RANGES, Voice
from bot.notation.pronouncing import sung_words
from tests.music.levels import level, steps_first
from tests.music.lines import line
from tests.music.together import parallels, score

_TREBLE, _BARITONE = DEFAULT_RANGES[Voice.TREBLE], DEFAULT_RANGES[Voice.BARITONE]
_TEXTS = (
    "Lanterns on the river / floating far away",
    "Down the winding staircase, quiet as the snow",
    "Softly, softly, shut the door / nobody must hear us",
    "Climb the ladder, one by one / follow where it goes",
)


def _set(text, ids="p05 r04", ranges=(_TREBLE,), **wish):
    words = sung_words(text).words
    return set_to_words(steps_first(), level(*ids.split()), ranges, words, **wish)


def _path(ids="p05 r04", ranges=(_TREBLE,)):
    """Lines of one path: the first, then each against the first."""
    ground = shared_ground(level(*ids.split()).tones, Metre(), 4, seed=3)
    found = [_set(_TEXTS[0], ids, ranges, ground=ground, first="do", seed=0)]
    for number, text in enumerate(_TEXTS[1:], start=1):
        wish = {"ground": ground, "first": ("do", "so", "mi", "so")[number], "seed": number}
        found.append(_set(text, ids, ranges, against=[found[0].exercise], **wish))
    return found


@pytest.fixture(scope="module")
def path():
    return _path()


def dissonant(exercise):
    """Strong beats on which music21 hears two parts as dissonant, unless a fourth is inside."""
    found = []
    for high, low in combinations(range(len(exercise.parts)), 2):
        for beat in range(int(exercise.length * 2)):
            offset = Fraction(beat, 2)
            pitches = [_sounding(exercise, part, offset) for part in range(len(exercise.parts))]
            one, other = pitches[high], pitches[low]
            if one is None or other is None:
                continue
            low_note, high_note = sorted((one, other), key=lambda pitch: pitch.midi)
            between = Interval(Music21Note(low_note), Music21Note(high_note))
            bass = low_note.midi == min(p.midi for p in pitches if p is not None)
            if not between.isConsonant() and not (between.simpleName == "P4" and not bass):
                found.append((offset, str(one), str(other)))
    return found


def _sounding(exercise, part, at):
    note = [note for offset, note in exercise.parts[part].timed() if offset <= at][-1]
    if note.tone is None:
        return None
    return Music21Pitch(str(exercise.pitch(note.tone, part)).replace("♭", "-").replace("♯", "#"))


def test_a_line_against_another_sounds_well_with_it_and_keeps_its_step(path):
    first = path[0].exercise
    for sung in path[1:]:
        both = replace(first, parts=(sung.exercise.parts[0], first.parts[0]))
        assert check_parts(both, PartRules(crossing=True)) == ()
        assert check_partners(both, (_TREBLE, _TREBLE)) == ()
        assert parallels(both) == []
        assert dissonant(both) == []
        assert check(sung.exercise, sung.level, _TREBLE) == ()
        assert sung.exercise.key == first.key


def test_a_line_against_two_makes_a_sound_stack_of_three(path):
    ground = shared_ground(level("p05", "r04").tones, Metre(), 4, seed=3)
    pair = [path[0].exercise, path[1].exercise]
    third = _set(
        "Who has hidden all the cheese / underneath the stairs", ground=ground, against=pair, seed=4
    )
    three = replace(pair[0], parts=tuple(e.parts[0] for e in (third.exercise, *pair)))
    assert check_partners(three, (_TREBLE,) * 3) == ()
    assert parallels(three) == []
    assert dissonant(three) == []


def test_the_best_stack_is_sound_and_says_which_lines_it_has(path):
    lines = [sung.exercise for sung in path]
    for ranges in ((_TREBLE, _TREBLE), (_TREBLE, _BARITONE)):
        best = stack_partners(lines, ranges)
        assert check_partners(best.exercise, ranges) == ()
        assert parallels(best.exercise) == []
        assert dissonant(best.exercise) == []
        for part, number in zip(best.exercise.parts, best.lines, strict=True):
            assert part.notes == lines[number].parts[0].notes
            assert part.words == lines[number].parts[0].words
        worths = [stack.worth for stack in best_partners(lines, ranges)]
        assert worths == sorted(worths, reverse=True)
        assert best.worth == worths[0]


def test_in_a_room_with_voices_octaves_apart_the_new_line_lies_above():
    ranges = (_TREBLE, _BARITONE)
    first, second = _path("p04 r04", ranges)[:2]
    high, low = first.reading.plan.lines[0].do_octaves
    assert high > low
    parts = (
        replace(second.exercise.parts[0], do_octave=high),
        replace(first.exercise.parts[0], do_octave=low),
    )
    both = replace(first.exercise, parts=parts)
    assert check_partners(both, ranges) == ()
    assert parallels(both) == []
    stack = stack_partners([first.exercise, second.exercise], ranges)
    assert check_partners(stack.exercise, ranges) == ()


def test_a_room_that_shares_no_line_has_companions_to_a_line_against_another():
    ranges = tuple(DEFAULT_RANGES[voice] for voice in Voice)
    ground = shared_ground(level("p08", "r04").tones, Metre(), 4, seed=3)
    first = _set(_TEXTS[0], "p08 r04", ranges, ground=ground, first="do", seed=0)
    assert len(first.reading.plan.lines) > 1
    alone = replace(first.exercise, parts=first.exercise.parts[:1])
    second = _set(_TEXTS[1], "p08 r04", ranges, ground=ground, first="mi", against=[alone], seed=1)
    room = score(second.reading, len(ranges))
    assert check_parts(room, PartRules(crossing=True, drone=True)) == ()
    for number, limits in enumerate(ranges):
        assert all(limits.holds(pitch) for pitch in room.pitches(number))
    assert {part.words for part in second.exercise.parts} == {second.exercise.parts[0].words}


@pytest.mark.parametrize(
    ("upper", "lower", "rule"),
    [
        ("so:h so:h | re:h do:h", "do:h mi:h | so,:h do:h", None),
        ("so:h la:h | so:h do:h", "do:h re:h | mi:h do:h", Rule.PARALLEL),
        ("so:h fa:h | so:h do:h", "do:h mi:h | mi:h do:h", Rule.DISSONANCE),
        ("so:q fa:q mi:h | re:h do:h", "do:q mi:q do:h | so,:h do:h", None),
        ("so:h so':h | so:h do:h", "do:h mi:h | mi:h do:h", Rule.RANGE),
    ],
)
def test_what_keeps_lines_apart_is_named(upper, lower, rule):
    exercise = line(upper)
    both = replace(exercise, parts=(exercise.parts[0], line(lower).parts[0]))
    found = {breach.rule for breach in check_partners(both, (_TREBLE, _TREBLE))}
    assert found == ({rule} if rule else set())


def test_lines_that_do_not_go_together_are_refused():
    lines = [line("do:h re:h | mi:h do:h"), line("re:h do:h | re:h mi:h")]
    with pytest.raises(NoExercise) as caught:
        stack_partners(lines, (_TREBLE, _TREBLE))
    assert caught.value.key == "refusal.partners"
    with pytest.raises(ValueError, match="share key"):
        best_partners([lines[0], lines[1].in_key(Key.parse("G"), (4,))], (_TREBLE, _TREBLE))


def test_what_is_composed_against_a_line_has_its_key_and_shape(path):
    with pytest.raises(ValueError, match="one key and one shape"):
        _set(_TEXTS[1], against=[path[0].exercise], key=Key.parse("A"), seed=1)
    with pytest.raises(ValueError, match="one key and one shape"):
        _set(_TEXTS[1], against=[path[0].exercise], measures=8, seed=1)
