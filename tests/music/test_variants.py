"""One key for the room, a key of its own for each voice, and the table of what composes."""

import pytest

from bot.errors import NoExercise
from bot.music.checker import check
from bot.music.composer import compose
from bot.music.exercise import Tone
from bot.music.pitch import Key
from bot.music.placement import sung_by_all
from bot.music.sequence import Track
from bot.music.step_table import KEYS, step_table
from bot.music.variants import Placement, apart, placements, together
from bot.music.voice import DEFAULT_RANGES, Voice, VoiceRange
from tests.music.levels import level, shipped, shipped_table, steps_first
from tests.music.lines import line

_ALL = tuple(DEFAULT_RANGES[voice] for voice in Voice)
_TREBLE, _CHANGING, _BARITONE = _ALL
_B_FLAT = Key.parse("Bb")


@pytest.fixture(scope="module")
def table():
    """The rows of one line for all; `test_parts` has those that divide the choir."""
    return tuple(row for row in shipped_table() if _is_unison(row.step))


def _is_unison(step):
    return step.track is not Track.VOICE or step.id == "v01"


def _refused(call, *arguments):
    with pytest.raises(NoExercise) as refusal:
        call(*arguments)
    return refusal.value


def test_b_flat_gives_do_to_so_to_all_three_voices():
    placement = together(level("p04"), _ALL, _B_FLAT)
    assert placement == Placement(key=_B_FLAT, do_octaves=(3, 3, 2))
    assert sung_by_all(level("p04"), placement, _ALL) == level("p04").tones


def test_c_gives_low_ti_to_fa_to_all_three_voices():
    placement = together(level("p07"), _ALL, Key.parse("C"))
    assert placement.do_octaves == (4, 4, 3)
    steps = [tone.step for tone in sung_by_all(level("p07"), placement, _ALL)]
    assert steps == [-1, 0, 1, 2, 3]


def test_a_treble_choir_starts_in_f_and_tenors_and_basses_in_b_flat_or_c():
    assert together(level("p05"), (_TREBLE,), None).key == Key.parse("F")
    assert together(level("p01"), (_CHANGING, _BARITONE), None).key == _B_FLAT
    assert together(level("p01"), (_BARITONE,), None).key == Key.parse("C")


def test_high_do_with_low_so_asks_for_e_flat_in_a_treble_choir():
    placement = together(level("p10"), (_TREBLE,), None)
    assert placement == Placement(key=Key.parse("Eb"), do_octaves=(4,))


def test_where_no_key_serves_all_the_refusal_names_voice_and_tone_and_no_key():
    refusal = _refused(together, level("p06"), _ALL, None)
    assert refusal.key == "refusal.in_no_key"
    assert refusal.values == {"tone": "la", "low": "G3", "high": "F4"}


def test_a_key_that_is_asked_for_is_the_only_one_tried():
    refusal = _refused(together, level("p04"), _ALL, Key.parse("G"))
    assert refusal.values["in_key"] == "G major"


def test_a_minor_key_is_refused_where_the_step_is_in_major():
    assert _refused(together, level("p04"), _ALL, Key.parse("d minor")).key == "refusal.major"


def test_every_key_that_serves_comes_best_first():
    found = placements(level("p01"), (_CHANGING, _BARITONE))
    assert [placement.key.plain for placement in found] == ["Bb", "C", "Ab", "G"]


def test_a_range_that_a_choir_narrows_moves_the_key():
    narrow = VoiceRange.parse("D4-B4", "D4-B4")
    placement = together(level("p06"), (narrow,), None)
    assert placement.key == Key.parse("D")


def test_a_line_sung_together_suits_every_voice():
    full = level("p05", "r03")
    placement = together(full, _ALL, None)
    for seed in range(20):
        exercise = compose(full, placement, _ALL, seed=seed)
        for limits, octave in zip(_ALL, placement.do_octaves, strict=True):
            assert check(exercise.in_key(exercise.key, (octave,)), full, limits) == ()


@pytest.mark.parametrize("voice", Voice)
def test_apart_each_voice_has_the_line_where_it_sings_best(voice):
    limits = DEFAULT_RANGES[voice]
    exercise = line("do:q re:q mi:h | fa:q mi:q re:h | mi:q fa:q so:h | mi:q re:q do:h")

    alone = apart(exercise, limits)

    assert alone.fingerprint() == exercise.fingerprint()
    assert all(limits.holds(pitch) for pitch in alone.pitches())
    outside = [p for p in alone.pitches() if not limits.tessitura_low <= p <= limits.tessitura_high]
    assert len(outside) <= 2


def test_apart_takes_the_first_key_of_a_list_where_several_serve_alike():
    exercise = line("do:q re:q mi:h")
    assert apart(exercise, _TREBLE, [Key.parse("G"), Key.parse("F")]).key == Key.parse("G")
    assert apart(exercise, _TREBLE, [Key.parse("F"), Key.parse("G")]).key == Key.parse("F")


def test_music_in_minor_or_with_altered_tones_goes_apart_too():
    exercise = line("la,:q ti,:q do:h | re:q do:q ti,:h | si,:h la,:h", key="d minor")
    alone = apart(exercise, _CHANGING)
    assert alone.key.mode is exercise.key.mode
    assert all(_CHANGING.holds(pitch) for pitch in alone.pitches())


def test_a_line_too_wide_for_a_voice_is_refused_with_its_limits():
    refusal = _refused(apart, line("do:h do':h | so,:h do:h"), _CHANGING)
    assert (refusal.key, refusal.values) == ("refusal.span", {"low": "G3", "high": "F4"})


def test_the_table_has_every_step_voice_and_key(table):
    assert [row.step for row in shipped_table()] == list(steps_first().steps)
    for row in table:
        assert len(row.fits) == 7 * len(KEYS)
        assert len({(fit.voices, fit.key) for fit in row.fits}) == len(row.fits)


def test_every_step_composes_for_every_single_voice_but_an_octave_for_a_changing_one(table):
    empty = [
        (row.step.id, voice)
        for row in table
        for voice in Voice
        if all(fit.refusal for fit in row.fits if fit.voices == (voice,))
    ]
    assert empty == [("p10", Voice.CHANGING)]


def test_all_three_voices_share_the_steps_that_fit_into_their_few_common_tones(table):
    together_at = [
        row.step.id
        for row in table
        if row.step.track is Track.PITCH
        and any(fit.refusal is None for fit in row.fits if len(fit.voices) == 3)
    ]
    assert together_at == ["p01", "p02", "p03", "p04", "p05", "p07", "p11", "p13", "p14", "p18"]


_RANGE = {"tone", "in_key", "low", "high"}
_TOLD = {"refusal.range": _RANGE, "refusal.leads_on": _RANGE | {"to"}}


def test_every_refusal_in_the_table_names_its_rule(table):
    assert _bare(table) == []


@pytest.mark.long
def test_every_refusal_in_the_other_order_names_its_rule():
    rows = step_table(shipped("two-tones-first"), DEFAULT_RANGES)
    assert _bare(row for row in rows if _is_unison(row.step)) == []


def _bare(rows):
    """The cells whose refusal names no tone, no key or no voice."""
    refused = [(row.step.id, fit) for row in rows for fit in row.fits if fit.refusal]
    return [
        (step, fit.voices, fit.key.plain, fit.refusal.key)
        for step, fit in refused
        if set(fit.refusal.values) != _TOLD.get(fit.refusal.key)
    ]


def test_a_new_tone_without_the_tone_that_it_leads_to_is_refused_by_that_tone(table):
    led = {
        (row.step.id, fit.voices, fit.key.plain): fit.refusal.values
        for row in table
        for fit in row.fits
        if fit.refusal and fit.refusal.key == "refusal.leads_on"
    }
    changing, baritone = (Voice.CHANGING,), (Voice.BARITONE,)
    both = (Voice.TREBLE, Voice.CHANGING)
    assert set(led) == {
        ("p19", changing, "A"),
        ("p19", both, "A"),
        ("p19", changing + baritone, "C"),
        ("p19", both + baritone, "C"),
    }
    for told in led.values():
        assert (told["tone"], told["to"]) == ("low te", "low la")
    assert led["p19", changing, "A"] == {
        "tone": "low te", "to": "low la", "in_key": "A major", "low": "G3", "high": "F4"
    }  # fmt: skip


def test_voices_move_to_the_octave_in_which_a_raised_tone_can_go_on(table):
    (fit,) = (
        fit
        for row in table
        for fit in row.fits
        if (row.step.id, fit.voices, fit.key.plain) == ("p18", (Voice.TREBLE, Voice.CHANGING), "Bb")
    )
    assert fit.refusal is None
    assert fit.do_octaves == (3, 3)


def test_what_the_table_says_holds_for_other_seeds(table):
    for number, row in enumerate(table):
        full = level(row.step.id)
        fits = [fit for fit in row.fits if fit.refusal is None]
        fit = fits[(7 * number) % len(fits)]
        limits = [DEFAULT_RANGES[voice] for voice in fit.voices]
        placement = Placement(key=fit.key, do_octaves=fit.do_octaves)
        exercise = compose(full, placement, limits, seed=number)
        assert check(exercise, full, limits[0]) == ()


def test_a_row_is_ready_for_json(table):
    row = table[0].tree()
    fits = {(" ".join(fit["voices"]), fit["key"]): fit for fit in row["fits"]}
    assert (row["id"], row["track"]) == ("p01", "pitch")
    assert fits["treble", "F"] == {
        "voices": ["treble"], "pitch": "p01", "key": "F", "composes": True, "do_octaves": [4],
    }  # fmt: skip
    assert fits["changing", "F"]["rule"] == "refusal.range"


def test_a_tone_is_left_out_where_one_of_the_voices_misses_it():
    placement = Placement(key=_B_FLAT, do_octaves=(3, 3, 2))
    assert Tone(step=5) not in sung_by_all(level("p06"), placement, _ALL)
