"""Composing inside a published reading: its text as a level, its key and range as a placement."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from bot.errors import NoExercise
from bot.music.cell import Cell
from bot.music.composer import compose
from bot.music.criteria import Criteria, Reads, Task
from bot.music.criteria_check import differences
from bot.music.exercise import Exercise, Tone
from bot.music.level import Level, level_of
from bot.music.pitch import Key, Mode
from bot.music.placement import Placement
from bot.music.rhythm import Metre
from bot.music.sequence import Form
from bot.music.sequence import Sequence as Steps
from bot.music.turns import rhythm_only
from bot.music.voice import DEFAULT_RANGES, Voice, VoiceRange

_DO = Tone(step=0)
_HOME = (Tone(step=0), Tone(step=1), Tone(step=2))  # without do re mi there is no line
_TRIAD = (Tone(step=0), Tone(step=2), Tone(step=4))
_CADENCE = (Tone(step=1), Tone(step=-1))
_DOMINANT = tuple(Tone(step=step) for step in (-3, -1, 1, 4, 6))
_OCTAVES = range(2, 6)
_TURNS, _STRIDE = 60, 1_000_003  # lines composed at most, and what parts their seeds
_OWN_WEIGHT = 0.5  # of a group that the sequence does not have


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """A key, where its do lies, and the tones that the range and the span leave there."""

    key: Key
    do_octave: int
    tones: tuple[Tone, ...]


def compose_inside(
    criteria: Criteria,
    task: Task,
    sequence: Steps,
    voice: Voice,
    *,
    key: Key | None = None,
    seed: int,
) -> Exercise:
    """A line as a published reading asks for it, in the key that is printed for the voice.

    Everything that the shipped readings ask for is in the sums, so that the first line that is
    composed will do. What a file of the house may ask beyond that (`skips_from`, `skips_on_beat`
    among short notes) is seen to afterwards: some more lines are composed until one has it.
    The same criterion, reading, voice, key and seed give the same line. `sequence` lends its rhythm
    cells and forms. Raises NoExercise("criteria.no_key") where the voice's range holds no line in
    any key that is asked for, NoExercise("criteria.no_line") where the rules of composing and those
    of the reading leave none.
    """
    limits = _limits(criteria, voice)
    printed = task.keys.get(voice, ()) or _usual(sequence, voice)
    keys = (key,) if key is not None else printed
    places = [place for each in keys for place in _places(criteria, task, each, limits)]
    if not places:
        raise NoExercise(
            "criteria.no_key",
            keys=", ".join(each.plain for each in keys),
            low=str(limits.low),
            high=str(limits.high),
        )
    own_key = [place for place in places if place.key == places[0].key]
    place = own_key[seed % len(own_key)]
    placement = Placement(key=place.key, do_octaves=(place.do_octave,))
    level = _level(task, sequence, place.tones)
    for turn in range(_TURNS):
        made = compose(
            level,
            placement,
            (limits,),
            measures=task.measures,
            seed=seed + turn * _STRIDE,
        )
        made = rhythm_only(made) if task.reads is Reads.RHYTHM else made
        if not differences(made, criteria, task, None if key else voice):
            return made
    raise NoExercise("criteria.no_line", reading=f"{criteria.id}/{task.id}")


def _limits(criteria: Criteria, voice: Voice) -> VoiceRange:
    """The printed range of a voice, else the usual one."""
    if voice not in criteria.ranges:
        return DEFAULT_RANGES[voice]
    low, high = criteria.ranges[voice]
    return VoiceRange(low=low, high=high, tessitura_low=low, tessitura_high=high)


def _usual(sequence: Steps, voice: Voice) -> tuple[Key, ...]:
    keys = sequence.keys[Mode.MAJOR]
    return keys.treble if voice is Voice.TREBLE else keys.low


def _places(criteria: Criteria, task: Task, key: Key, limits: VoiceRange) -> Iterator[_Place]:
    """Every octave of do, and there every widest set of tones within the range and the span."""
    steps = [Tone(step=step) for step in range(-7, 15)] if task.tones is None else task.tones
    for octave in _OCTAVES:
        heights = {
            tone: pitch.midi
            for tone in sorted(steps)
            if limits.holds(pitch := key.pitch(tone.step, tone.alter, octave))
        }
        found: list[tuple[Tone, ...]] = []
        for low in heights:
            window = tuple(
                tone
                for tone in heights
                if tone >= low
                and (criteria.span is None or heights[tone] - heights[low] <= criteria.span)
            )
            if set(_HOME) <= set(window) and not any(set(window) <= set(each) for each in found):
                found.append(window)
        for window in found:
            yield _Place(key=key, do_octave=octave, tones=window)


def _level(task: Task, sequence: Steps, tones: Sequence[Tone]) -> Level:
    """What the reading allows as a level: everything at once, nothing of it new."""
    base = level_of(sequence, ())
    pairs = [(low, high) for low in tones for high in tones if high.step - low.step > 1]
    allowed = [pair for pair in pairs if _may_skip(task, sequence, *pair)]
    start = [tone for tone in task.start or _TRIAD if tone in tones]
    return replace(
        base,
        tones=tuple(tones),
        home=_HOME,
        skips=frozenset(allowed),
        cells=tuple(_cells(task, sequence)),
        metres=tuple(_metres(task, sequence)),
        conditions=replace(
            base.conditions,
            start=tuple(start),
            end=_DO,
            cadence=_CADENCE,
            half_cadence=_DOMINANT,
            measures=((task.measures, 1),),
        ),
        forms=_forms(task, sequence),
        pitch_focus=None,
        rhythm_focus=None,
    )


def _may_skip(task: Task, sequence: Steps, low: Tone, high: Tone) -> bool:
    """Where a reading sets no limit to skips, those of the sequence are used."""
    if task.skips is not None:
        return task.may_skip(low, high)
    return any((low, high) in step.element.skips for step in sequence.steps)


def _metres(task: Task, sequence: Steps) -> Iterator[tuple[Metre, int]]:
    often = dict(sequence.metres)
    for metre in task.metres:
        yield metre, often.get(metre, 1)


def _cells(task: Task, sequence: Steps) -> Iterator[Cell]:
    """The reading's groups; those that the sequence has stand where composed lines have them."""
    known: dict[str, Cell] = {}
    for step in sequence.steps:
        for cell in step.element.cells:
            known.setdefault(cell.text, cell)
    for cell in task.cells:
        own = replace(cell, weight=_OWN_WEIGHT, in_a_row=1, step=cell.text)
        yield known.get(cell.text, own)


def _forms(task: Task, sequence: Steps) -> tuple[Form, ...]:
    """The rhythm plans of the length, or the one that the reading prescribes."""
    if not task.alike:
        usual = [form for _, form in sequence.forms if form.measures == task.measures]
        return tuple(form for form in usual if not form.copied)
    half = task.measures // 2
    copied = 0
    while (copied + 1, copied + 1 + half) in task.alike:
        copied += 1
    names = iter("abcdefghijklmnopqrstuvwxyz")
    letters: dict[int, str] = {}
    for measure in range(1, task.measures + 1):
        earlier = next((one for one, other in task.alike if other == measure), None)
        letters[measure] = letters[earlier] if earlier in letters else next(names)
    return (Form(letters="".join(letters.values()), weight=1, copied=copied),)
