"""The routine on the stage: whatever is pressed, in whatever order, some things always hold."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.activities.routine import (
    PULSED,
    SUNG,
    Choice,
    Effect,
    Press,
    Routine,
    Running,
    Stop,
    announce,
    apply,
)
from bot.activities.routine_table import DIALS, KEYS, Dial, routine_table

PRESSES = st.lists(st.sampled_from(Press), max_size=60)


def walked(presses, **start):
    """(before, press, after, effects) of each press in turn."""
    state, steps = Routine(measures=start.pop("measures", 8), **start), []
    for press in presses:
        after = apply(state, press)
        steps.append((state, press, after, announce(state, press, after)))
        state = after
    return steps


def at(*presses, **start):
    steps = walked(presses, **start)
    return steps[-1][2] if steps else Routine(measures=8, **start)


SING = (Press.ON, Press.COUNTED, Press.ENDED)
TO_FIRST = (Press.ON,) * 5  # key, start, look, chant, inward; the next is the first reading


def test_a_clicker_alone_goes_through_the_whole_routine():
    steps = walked([*TO_FIRST, *SING, Press.ON, *SING, *[Press.ON] * 4])
    stops = list(dict.fromkeys(after.stop for _, _, after, _ in steps))
    assert stops == list(Stop)[1:]
    asked = [effect for *_, effects in steps for effect in effects if effect is not Effect.HUSH]
    assert asked == [
        Effect.KEY_SOUND,
        Effect.START_SOUND,
        Effect.PULSE_ALOUD,
        Effect.PULSE_INWARD,
        Effect.PULSE_INWARD,
        Effect.OPEN_LINE,
        Effect.PULSE_INWARD,
        Effect.LINE_SOUND,
        Effect.DO_SOUND,
    ]


def test_nothing_sounds_before_a_key_is_pressed():
    assert Routine(measures=8).running is Running.NOTHING


def test_who_leaves_a_reading_during_the_count_in_has_not_read():
    assert not at(*TO_FIRST, Press.ON, Press.ON).tried
    assert not at(*TO_FIRST, Press.ON, Press.ENDED).tried


def test_a_reading_counts_once_the_choir_sings_even_if_it_is_cut_short():
    assert at(*TO_FIRST, Press.ON, Press.COUNTED, Press.ON).tried
    assert at(*TO_FIRST, Press.ON, Press.COUNTED, Press.BLANK).tried


def test_hearing_is_passed_over_where_nothing_was_sung():
    assert at(*TO_FIRST, *[Press.ON] * 4).stop is Stop.HELD
    assert at(*TO_FIRST, *SING, *[Press.ON] * 3).stop is Stop.HEAR


def test_a_choir_that_never_hears_lines_goes_past_hearing_both_ways():
    held = at(*TO_FIRST, *SING, *[Press.ON] * 3, hearing=False)
    assert held.stop is Stop.HELD
    assert apply(held, Press.BACK).stop is Stop.SECOND


def test_do_answers_the_question_at_the_second_press_only():
    steps = walked([*TO_FIRST, *[Press.ON] * 6])
    held = [(after.running, effects) for *_, after, effects in steps if after.stop is Stop.HELD]
    assert held[0] == (Running.NOTHING, (Effect.HUSH,))
    assert held[1] == (Running.SOUND, (Effect.DO_SOUND,))
    assert steps[-1][2].stop is Stop.DONE


def test_going_back_is_silent():
    for _, press, after, effects in walked([*TO_FIRST, *[Press.BACK] * 7]):
        if press is Press.BACK:
            assert after.running is Running.NOTHING
            assert set(effects) <= {Effect.HUSH}
    assert after.stop is Stop.READY


def test_arrows_move_the_bracket_and_leave_at_its_ends():
    mending = (*TO_FIRST, *SING, Press.ON)
    assert at(*mending).spot == 1
    assert at(*mending, Press.SPOT_RIGHT, Press.SPOT_RIGHT, Press.SPOT_LEFT).spot == 2
    assert at(*mending, *[Press.SPOT_RIGHT] * 8).stop is Stop.SECOND
    assert at(*mending, Press.SPOT_LEFT).stop is Stop.FIRST


def test_the_bracket_stays_for_the_second_reading_and_goes_with_it():
    mending = (*TO_FIRST, *SING, Press.ON, Press.SPOT_RIGHT)
    assert at(*mending, Press.ON).spot == 2
    assert at(*mending, *SING, Press.ON).spot is None


def test_at_the_end_the_dark_key_chooses_and_on_takes():
    done = [*TO_FIRST, *[Press.ON] * 6]
    assert at(*done, Press.ON).blank
    chosen = [at(*done, *[Press.BLANK] * n).choice for n in range(len(Choice) + 1)]
    assert chosen == [*Choice, Choice.REST]
    assert walked([*done, Press.BLANK, Press.ON])[-1][3] == (Effect.ANOTHER,)
    assert at(*done, Press.BLANK, Press.BLANK, Press.ON).stop is Stop.READY
    assert walked([*done, *[Press.BLANK] * 3, Press.ON])[-1][3] == (Effect.OTHER_WAY,)
    assert walked([*done, *[Press.BLANK] * 4, Press.ON])[-1][3] == (Effect.NEXT_CHOIR,)


@pytest.mark.parametrize("press", [p for p in Press if p not in (Press.COUNTED, Press.ENDED)])
def test_in_the_dark_every_key_brings_the_light_back_and_does_no_more(press):
    dark = at(*TO_FIRST, Press.BLANK)
    assert dark.blank
    after = apply(dark, press)
    assert not after.blank
    assert announce(dark, press, after) == ()
    assert (after.stop, after.running) == (dark.stop, Running.NOTHING)


@given(PRESSES, st.integers(1, 16), st.booleans())
def test_the_line_is_never_heard_before_it_was_sung(presses, measures, hearing):
    singing = False
    for before, press, after, effects in walked(presses, measures=measures, hearing=hearing):
        if press is Press.COUNTED and before.stop in SUNG:
            singing = singing or before.running is Running.COUNT_IN
        if Effect.LINE_SOUND in effects or Effect.OPEN_LINE in effects or after.stop is Stop.HEAR:
            assert singing
            assert hearing
            assert after.tried


@given(PRESSES, st.integers(1, 16), st.booleans())
def test_no_press_breaks_a_state(presses, measures, hearing):
    for before, _, after, effects in walked(presses, measures=measures, hearing=hearing):
        assert after.spot is None or 1 <= after.spot <= measures
        assert (after.stop is Stop.MEND) <= (after.spot is not None)
        assert not (after.blank and after.running is not Running.NOTHING)
        assert (after.running in (Running.COUNT_IN, Running.PULSE)) <= (after.stop in PULSED)
        assert (after.running is Running.CLOCK) <= (after.stop is Stop.LOOK)
        assert after.tried >= before.tried
        assert Effect.HUSH not in effects[1:]


@given(PRESSES)
def test_what_runs_is_ended_before_anything_else_begins(presses):
    loud = {Effect.KEY_SOUND, Effect.START_SOUND, Effect.LINE_SOUND, Effect.DO_SOUND}
    loud |= {Effect.PULSE_ALOUD, Effect.PULSE_INWARD, Effect.CLOCK}
    for before, _, _, effects in walked(presses):
        if loud & set(effects):
            assert len(loud & set(effects)) == 1
            assert (before.running is not Running.NOTHING) == (effects[0] is Effect.HUSH)


@given(PRESSES)
def test_on_comes_to_the_end_from_everywhere(presses):
    state = at(*presses)
    for _ in range(40):
        if state.stop is Stop.DONE and not state.blank:
            return
        state = apply(state, Press.ON)
    raise AssertionError(state)


@given(PRESSES, st.integers(1, 16), st.booleans())
def test_the_table_says_what_the_rules_say(presses, measures, hearing):
    table = routine_table(measures, hearing=hearing)
    here = 0
    for before, press, after, effects in walked(presses, measures=measures, hearing=hearing):
        assert table.states[here] == before
        here, asked = table.moves[here].get(press, (here, ()))
        assert (table.states[here], asked) == (after, effects)


def test_a_table_is_small_enough_to_travel_with_a_page():
    table = routine_table(16, hearing=True)
    assert len(table.states) < 400


def test_every_press_of_a_person_has_a_key():
    assert set(KEYS.values()) == set(Press) - {Press.COUNTED, Press.ENDED}


def test_no_key_means_two_things():
    assert not set(KEYS) & set(DIALS)
    assert set(DIALS.values()) == set(Dial)
