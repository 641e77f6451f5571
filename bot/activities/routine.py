"""The routine of one lesson on the stage: what each press does, decided before anything sounds.

    ready - key - start - look - chant - inward - first - mend - second - hear - held - done

Pure. `apply` gives the next state, `announce` what has to happen because of it. The states are few
enough to be counted out (routine_table.py), and the browser only looks up what a press does, so
that nothing waits for a network.

The order is the trade's: key and starting note, study, chant in rhythm, hear inwardly, sing, mend
one spot, sing again. The line itself sounds only after a reading was really sung.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import assert_never


class Stop(StrEnum):
    """Where the choir is in the routine, in order."""

    READY = "ready"
    KEY = "key"
    START = "start"
    LOOK = "look"
    CHANT = "chant"
    INWARD = "inward"
    FIRST = "first"
    MEND = "mend"
    SECOND = "second"
    HEAR = "hear"
    HELD = "held"  # did we hold the key?
    DONE = "done"


ORDER = tuple(Stop)
PULSED = frozenset({Stop.CHANT, Stop.INWARD, Stop.FIRST, Stop.SECOND})
SUNG = frozenset({Stop.FIRST, Stop.SECOND})
_MARKED = frozenset({Stop.MEND, Stop.SECOND})  # where the bracket stands in the picture


class Running(StrEnum):
    """What goes on by itself until it ends."""

    NOTHING = "nothing"
    SOUND = "sound"  # key, starting note, the line, or do at the end
    COUNT_IN = "count-in"
    PULSE = "pulse"  # through the line, after the count-in
    CLOCK = "clock"  # time to look


class Choice(StrEnum):
    """What can follow a lesson; the first is taken by a clicker's next press."""

    REST = "rest"  # the screen goes dark
    ANOTHER = "another"
    AGAIN = "again"
    OTHER_WAY = "other-way"
    NEXT_CHOIR = "next-choir"


class Press(StrEnum):
    """What comes in: keys, and word from the browser that something began or ended."""

    ON = "on"
    BACK = "back"
    BLANK = "blank"
    REPEAT = "repeat"  # what this stop sounds, once more
    CLOCK = "clock"
    SPOT_LEFT = "spot-left"
    SPOT_RIGHT = "spot-right"
    HEAR = "hear"
    ANOTHER = "another"
    AGAIN = "again"
    OTHER_WAY = "other-way"
    NEXT_CHOIR = "next-choir"
    COUNTED = "counted"  # the count-in is over, the choir sings
    ENDED = "ended"  # what ran has come to its end


class Effect(StrEnum):
    """What the stage has to do."""

    HUSH = "hush"  # end whatever runs
    KEY_SOUND = "key-sound"
    START_SOUND = "start-sound"
    CLOCK = "clock"
    PULSE_ALOUD = "pulse-aloud"  # count-in and clicks through the line
    PULSE_INWARD = "pulse-inward"  # count-in; then only the figures move
    OPEN_LINE = "open-line"  # a reading was sung: the line may be heard from now on
    LINE_SOUND = "line-sound"  # with the cursor
    DO_SOUND = "do-sound"
    ANOTHER = "another"
    OTHER_WAY = "other-way"
    NEXT_CHOIR = "next-choir"


_LEADING_AWAY = frozenset({Choice.ANOTHER, Choice.OTHER_WAY, Choice.NEXT_CHOIR})


@dataclass(frozen=True, slots=True, kw_only=True)
class Routine:
    """One moment of a lesson.

    `tried`: the line was sung through once. `spot` is the measure in the pencil bracket, from 1,
    None where none is drawn. `hearing`: this choir hears lines at all. `answered`: do was sounded
    to the question if the key was held. `first` is the choice that stands marked at the end.
    """

    measures: int
    hearing: bool = True
    stop: Stop = Stop.READY
    running: Running = Running.NOTHING
    tried: bool = False
    blank: bool = False
    spot: int | None = None
    choice: Choice = Choice.REST
    first: Choice = Choice.REST
    answered: bool = False


def apply(routine: Routine, press: Press) -> Routine:
    """The state after a press; a press that means nothing here changes nothing."""
    if press in (Press.COUNTED, Press.ENDED):
        return _reported(routine, press)
    if routine.blank:  # any press brings the light back, and does no more than that
        return replace(routine, blank=False)
    match press:
        case Press.ON:
            return _on(routine)
        case Press.BACK:
            return _go(routine, _neighbour(routine, -1), begin=False)
        case Press.BLANK:
            return _blank(routine)
        case Press.REPEAT:
            return _answer(routine) if routine.stop is Stop.HELD else _go(routine, routine.stop)
        case Press.CLOCK:
            return _clock(routine)
        case Press.SPOT_LEFT | Press.SPOT_RIGHT:
            return _spot(routine, 1 if press is Press.SPOT_RIGHT else -1)
        case Press.HEAR:
            return _go(routine, Stop.HEAR) if _may_hear(_sung(routine)) else routine
        case Press.AGAIN:
            return _go(routine, Stop.READY)
        case Press.ANOTHER | Press.OTHER_WAY | Press.NEXT_CHOIR:
            return replace(routine, running=Running.NOTHING)
    assert_never(press)


def announce(before: Routine, press: Press, after: Routine) -> tuple[Effect, ...]:
    """What a press asks for, in order: first silence, then what is new."""
    effects = list(_opened(before, after))
    if press in (Press.COUNTED, Press.ENDED):
        return tuple(effects)
    other = (before.stop, before.running) != (after.stop, after.running)
    began = after.running is not Running.NOTHING and (other or press is Press.REPEAT)
    if before.running is not Running.NOTHING and (began or after.running is Running.NOTHING):
        effects.insert(0, Effect.HUSH)
    if began:
        effects.append(_sound_of(after))
    if (taken := _taken(before, press)) in _LEADING_AWAY:
        effects.append(Effect(taken))
    return tuple(effects)


def _reported(routine: Routine, press: Press) -> Routine:
    if press is Press.COUNTED:
        counting = routine.running is Running.COUNT_IN
        return replace(routine, running=Running.PULSE) if counting else routine
    if routine.running in (Running.CLOCK, Running.COUNT_IN):
        # A count-in is never the end: without the line after it nothing was sung.
        return replace(routine, running=Running.NOTHING)
    return replace(_sung(routine), running=Running.NOTHING)


def _on(routine: Routine) -> Routine:
    match routine.stop:
        case Stop.DONE:
            return _take(routine, routine.choice)
        case Stop.HELD if not routine.answered:  # the question stands first; do answers it
            return _answer(routine)
        case _:
            return _go(routine, _neighbour(_sung(routine), +1))


def _answer(routine: Routine) -> Routine:
    return replace(routine, running=Running.SOUND, answered=True)


def _take(routine: Routine, choice: Choice) -> Routine:
    match choice:
        case Choice.REST:
            return replace(routine, blank=True)
        case Choice.AGAIN:
            return _go(routine, Stop.READY)
        case Choice.ANOTHER | Choice.OTHER_WAY | Choice.NEXT_CHOIR:
            return routine
    assert_never(choice)


def _taken(routine: Routine, press: Press) -> Choice | None:
    """The choice that a press takes in this state."""
    if routine.blank:
        return None
    if press is Press.ON and routine.stop is Stop.DONE:
        return routine.choice
    return next((choice for choice in _LEADING_AWAY if choice.value == press.value), None)


def _blank(routine: Routine) -> Routine:
    """Dark; at the end of the lesson, where the clicker has no other key, the next choice."""
    if routine.stop is Stop.DONE:
        choices = tuple(Choice)
        following = choices[(choices.index(routine.choice) + 1) % len(choices)]
        return replace(routine, choice=following)
    return replace(_sung(routine), blank=True, running=Running.NOTHING)


def _clock(routine: Routine) -> Routine:
    if routine.stop is not Stop.LOOK:
        return routine
    ticking = routine.running is Running.CLOCK
    return replace(routine, running=Running.NOTHING if ticking else Running.CLOCK)


def _spot(routine: Routine, step: int) -> Routine:
    """Move the bracket; beyond the first or last measure the arrow goes on or back as elsewhere."""
    spot = (routine.spot or 0) + step
    if routine.stop is Stop.MEND and 1 <= spot <= routine.measures:
        return replace(routine, spot=spot)
    return _on(routine) if step > 0 else _go(routine, _neighbour(routine, -1), begin=False)


def _go(routine: Routine, stop: Stop, *, begin: bool = True) -> Routine:
    """Come to a stop and, unless one goes back to it, begin what it has."""
    routine = _sung(routine)
    spot = routine.spot if stop in _MARKED else None
    if stop is Stop.MEND and spot is None:
        spot = 1
    running = _running_at(stop) if begin else Running.NOTHING
    return replace(
        routine, stop=stop, running=running, spot=spot, choice=routine.first, answered=False
    )


def _running_at(stop: Stop) -> Running:
    match stop:
        case Stop.KEY | Stop.START | Stop.HEAR:
            return Running.SOUND
        case Stop.CHANT | Stop.INWARD | Stop.FIRST | Stop.SECOND:
            return Running.COUNT_IN
        case Stop.READY | Stop.LOOK | Stop.MEND | Stop.HELD | Stop.DONE:
            return Running.NOTHING
    assert_never(stop)


def _neighbour(routine: Routine, step: int) -> Stop:
    """The next stop in the order; hearing is passed over until it is allowed."""
    at = ORDER.index(routine.stop) + step
    stop = ORDER[min(max(at, 0), len(ORDER) - 1)]
    if stop is Stop.HEAR and not _may_hear(routine):
        return ORDER[at + step]
    return stop


def _may_hear(routine: Routine) -> bool:
    return routine.hearing and routine.tried


def _sung(routine: Routine) -> Routine:
    """Mark the line as tried where the choir is singing it: past the count-in of a reading."""
    singing = routine.stop in SUNG and routine.running is Running.PULSE
    return replace(routine, tried=True) if singing else routine


def _opened(before: Routine, after: Routine) -> tuple[Effect, ...]:
    opened = after.hearing and after.tried and not before.tried
    return (Effect.OPEN_LINE,) if opened else ()


def _sound_of(routine: Routine) -> Effect:
    match routine.stop:
        case Stop.KEY:
            return Effect.KEY_SOUND
        case Stop.START:
            return Effect.START_SOUND
        case Stop.LOOK:
            return Effect.CLOCK
        case Stop.CHANT:
            return Effect.PULSE_ALOUD
        case Stop.INWARD | Stop.FIRST | Stop.SECOND:
            return Effect.PULSE_INWARD
        case Stop.HEAR:
            return Effect.LINE_SOUND
        case Stop.HELD:
            return Effect.DO_SOUND
        case Stop.READY | Stop.MEND | Stop.DONE:
            raise ValueError(f"nothing sounds at {routine.stop}")
    assert_never(routine.stop)
