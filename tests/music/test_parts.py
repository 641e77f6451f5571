"""Two and three parts: every texture for every voice at the top, under independent checkers."""

from dataclasses import replace
from random import Random

import pytest

from bot.errors import NoExercise
from bot.music import canon, echo
from bot.music.check_parts import PartRules, check_canon, check_parts
from bot.music.checker import check
from bot.music.drawing import Unread
from bot.music.ensemble import Room
from bot.music.exercise import Exercise
from bot.music.part_plans import groups_of, part_plans
from bot.music.parts import LAYS, PART_RANGES, lines_together, part_lines
from bot.music.pitch import Key
from bot.music.rhythms import Taken
from bot.music.texture import Texture, parts_needed, texture_of
from bot.music.voice import DEFAULT_RANGES, Voice
from tests.music.levels import level, steps_first
from tests.music.together import parallels, score, spans, sung

_RULES = {
    Texture.OSTINATO: PartRules(),
    Texture.ECHO: PartRules(),
    Texture.PEDAL: PartRules(drone=True),
    Texture.CANON: PartRules(crossing=True),
    Texture.THIRDS: PartRules(chain=4),
    Texture.UNLIKE: PartRules(chain=4),
    Texture.THREE: PartRules(full=True),
}
_TOPS = (Voice.TREBLE, Voice.CHANGING)
_TWO = ["v02", "p06 v02", "v03", "p07 v03", "v04", "p09 r04 v04", "v05", "p08 r05 v05"]
_TWO += ["v07", "p05 r12 v07", "p05 r14 v07", "p03 v08", "p09 r04 v08", "p07 r12 v08"]
_TWO += ["p06 r11 v02", "p09 r11 v04", "p17 v04", "p07 r12 v05", "p07 r19 v05"]
_TWO += ["p07 r21 v05", "p06 r21 v02"]


def _parts(ids, voice, seed=0, key=None, **wishes):
    full = level(*ids.split())
    ranges = PART_RANGES[voice, parts_needed(texture_of(full))]
    return part_lines(steps_first(), full, ranges, key, seed=seed, **wishes), ranges


def _faults(ids, reading, ranges):
    full = level(*ids.split())
    texture = texture_of(full)
    whole = score(reading, len(ranges))
    found = [*check_parts(whole, _RULES[texture]), *parallels(whole)]
    if texture is Texture.CANON:
        copied = check_canon(reading.exercise, canon.ENTRY)
        return [*found, *copied, *_line_faults(reading, _first_half(reading.exercise), ranges)]
    if texture is Texture.ECHO:
        copied = check_canon(reading.exercise, echo.ENTRY)
        return [*found, *copied, *_line_faults(reading, _called(reading.exercise), ranges)]
    for voice, limits in enumerate(ranges):
        line = reading.plan.lines[reading.line_of(voice)]
        found += check(reading.alone(voice), replace(line.level, pitch_focus=None), limits)
    return found


def _first_half(exercise):
    """The notes of the four measures of a canon."""
    half = exercise.length / 2
    return tuple(note for offset, note in exercise.parts[0].timed() if offset < half)


def _called(exercise):
    """The notes that the first part of an echo sings, in its measures one, three, five, seven."""
    bar = exercise.metre.measure
    timed = exercise.parts[0].timed()
    return tuple(note for offset, note in timed if offset // bar % 2 == 0)


def _line_faults(reading, notes, ranges):
    """What is wrong with a line of four measures for either voice."""
    exercise, found = reading.exercise, []
    for voice, limits in enumerate(ranges):
        part = replace(exercise.parts[0], notes=notes, do_octave=reading.do_octave_of(voice))
        alone = Exercise(key=exercise.key, metre=exercise.metre, parts=(part,))
        found += check(alone, reading.plan.lines[0].level, limits)
    return found


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("voice", _TOPS)
@pytest.mark.parametrize("ids", _TWO)
def test_two_parts_keep_every_rule(ids, voice, seed):
    reading, ranges = _parts(ids, voice, seed)
    assert _faults(ids, reading, ranges) == []


@pytest.mark.parametrize("voice", _TOPS)
def test_three_parts_keep_every_rule_and_end_on_a_full_chord(voice):
    reading, ranges = _parts("v06", voice)
    assert _faults("v06", reading, ranges) == []
    assert len({part.notes for part in reading.exercise.parts}) == 3
    ends = [line.split()[-1].strip("',") for line in sung(reading.exercise)]
    assert ends[-1] == "do"
    assert "mi" in ends


@pytest.mark.long
@pytest.mark.parametrize("seed", range(300))
@pytest.mark.parametrize("voice", _TOPS)
@pytest.mark.parametrize("ids", [*_TWO, "v06", "p12 r09 v04", "p10 r09 v06"])
def test_many_parts_keep_every_rule(ids, voice, seed):
    reading, ranges = _parts(ids, voice, seed)
    assert _faults(ids, reading, ranges) == []


def test_in_an_echo_one_part_waits_while_the_other_sings():
    reading, _ = _parts("p05 r05 v07", Voice.CHANGING, seed=2)
    bar = reading.exercise.metre.measure
    rows = [list(part.timed()) for part in reading.exercise.parts]
    for measure in range(8):
        inside = [[note for at, note in row if at // bar == measure] for row in rows]
        waiting = [
            [(note.tone, note.duration) for note in notes] == [(None, bar)] for notes in inside
        ]
        assert waiting == [measure % 2 == 1, measure % 2 == 0]


def test_an_echo_that_was_read_does_not_come_again():
    read = [_parts("v07", Voice.TREBLE, seed)[0].exercise for seed in range(4)]
    again, _ = _parts("v07", Voice.TREBLE, 0, seen=read)
    assert again.exercise.fingerprint() not in {each.fingerprint() for each in read}


def test_an_echo_goes_by_whole_measures():
    with pytest.raises(NoExercise, match=r"refusal\.measures"):
        _parts("v07", Voice.TREBLE, measures=4)
    for crossing in ("p05 r11 v07", "p05 r21 v07"):
        with pytest.raises(NoExercise, match=r"refusal\.echo"):
            _parts(crossing, Voice.TREBLE)


def test_a_pedal_holds_one_tone_and_comes_home():
    for seed in range(4):
        low = _parts("p06 v08", Voice.TREBLE, seed)[0].exercise.parts[1]
        *held, last = low.tones()
        assert len({tone.step for tone in held[:-1]}) == 1
        assert last.step % 7 == 0


def test_an_ostinato_says_one_figure_over_and_over():
    reading, _ = _parts("p06 v02", Voice.TREBLE, seed=3)
    low = reading.exercise.parts[1]
    measure = reading.exercise.metre.measure
    figures = {}
    for offset, note in low.timed():
        figures.setdefault(offset // measure, []).append((note.duration, note.tone))
    *body, last = figures.values()
    assert all(figure == body[0] for figure in body)
    assert {tone.step % 7 for _, tone in body[0]} <= {0, 4}
    assert last[-1][1].step % 7 == 0


def test_thirds_and_sixths_are_most_of_what_sounds():
    heard = []
    for seed in range(6):
        reading, _ = _parts("p09 v04", Voice.TREBLE, seed)
        heard += [span % 12 for span in spans(reading.exercise)]
    share = sum(span in (3, 4, 8, 9) for span in heard) / len(heard)
    assert share > 0.55


def test_unlike_rhythms_differ_somewhere_and_agree_elsewhere():
    differing = 0
    for seed in range(8):
        reading, _ = _parts("p06 r04 v05", Voice.CHANGING, seed)
        high, low = ([n.duration for n in part.notes] for part in reading.exercise.parts)
        differing += high != low
    assert differing >= 6


def test_a_key_that_is_asked_for_is_kept():
    reading, _ = _parts("p09 v04", Voice.TREBLE, key=Key.parse("G"))
    assert reading.exercise.key == Key.parse("G")


def test_parts_that_were_read_do_not_come_again():
    read = [_parts("v04", Voice.TREBLE, seed)[0].exercise for seed in range(4)]
    again, _ = _parts("v04", Voice.TREBLE, 0, seen=read)
    assert again.exercise.fingerprint() not in {each.fingerprint() for each in read}
    canons = [_parts("v03", Voice.TREBLE, seed)[0].exercise for seed in range(4)]
    again, _ = _parts("v03", Voice.TREBLE, 0, seen=canons)
    assert again.exercise.fingerprint() not in {each.fingerprint() for each in canons}


def test_three_voices_share_two_parts():
    ranges = tuple(DEFAULT_RANGES[voice] for voice in Voice)
    reading = lines_together(steps_first(), level("p05", "v04"), ranges, seed=2)
    assert len(reading.exercise.parts) == 2
    assert {reading.line_of(voice) for voice in range(3)} == {0, 1}
    whole = score(reading, 3)
    assert [*check_parts(whole, PartRules(chain=4)), *parallels(whole)] == []


def test_who_may_share_a_part_stands_side_by_side():
    assert groups_of(3, 2) == (((0,), (1, 2)), ((0, 1), (2,)))
    assert groups_of(2, 1) == (((0, 1),),)


def test_three_parts_need_three_voices():
    ranges = (DEFAULT_RANGES[Voice.TREBLE], DEFAULT_RANGES[Voice.BARITONE])
    with pytest.raises(NoExercise, match=r"refusal\.few_voices"):
        lines_together(steps_first(), level("p09", "v06"), ranges, seed=0)


def test_a_canon_has_eight_measures():
    with pytest.raises(NoExercise, match=r"refusal\.measures"):
        _parts("v03", Voice.TREBLE, measures=4)


@pytest.mark.parametrize(
    ("rhythms", "draws"), [(2, 150), pytest.param(50, 200, marks=pytest.mark.long)]
)
@pytest.mark.parametrize("voice", _TOPS)
@pytest.mark.parametrize("ids", ["p05 v02", "p06 v04", "p06 v05", "p09 v06"])
def test_every_draw_over_a_rhythm_keeps_the_rules_of_singing_together(ids, voice, rhythms, draws):
    full = level(*ids.split())
    texture = texture_of(full)
    lay, manner = LAYS[texture]
    random, heard = Random(7), 0
    settings = _settings(full, PART_RANGES[voice, parts_needed(texture)], lay, manner, rhythms)
    for room, setting in settings:
        unread = Unread(setting.lines)
        for number in range(draws):
            exercise = room.score.exercise(setting, unread.draw(random))
            heard += 1
            assert check_parts(exercise, _RULES[texture]) == ()
            if number % 20 == 0:
                assert parallels(exercise) == []
    assert heard == rhythms * draws


def _settings(full, ranges, lay, manner, rhythms):
    """Settings over so many rhythms of the best plan that has any."""
    for plan in part_plans(steps_first(), full, ranges, None):
        room = Room(plan, manner, lay)
        frames = [frame for frame in room.frames(None, 8) if frame.rhythms.total]
        found = 0
        for seed in range(3 * rhythms):
            frame = frames[seed % len(frames)]
            setting = room.setting(frame, frame.rhythms.draw(Random(seed), Taken()))
            if setting.lines.total:
                found += 1
                yield room, setting
            if found == rhythms:
                return
        if found:
            return
