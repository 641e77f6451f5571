"""Everything that a choir at its three steps may read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from bot.errors import Fault, InputProblems
from bot.music.cell import HELD, Cell
from bot.music.exercise import Tone
from bot.music.pitch import Mode
from bot.music.rhythm import Metre
from bot.music.sequence import (
    Climax,
    Conditions,
    Element,
    Form,
    KeyOrder,
    Kind,
    Rules,
    Sequence,
    Skip,
    Step,
    Track,
)

_DEGREES = 7
_APART = 2  # measures that have what comes apart, at least
_ONE_LINE = "unison"  # the texture of lines that nothing else sounds with


@dataclass(frozen=True, slots=True, kw_only=True)
class PitchFocus:
    """The newest thing of the pitch track: a tone to arrive at in any octave, or skips to take.

    `name` is what its step calls it.
    """

    step: str
    count: int
    tones: frozenset[Tone] = frozenset()
    skips: frozenset[Skip] = frozenset()
    name: str = ""

    def needed(self, measures: int) -> int:
        """How often a line of so many measures has it at least."""
        return -(-self.count * measures // 8)


@dataclass(frozen=True, slots=True, kw_only=True)
class RhythmFocus:
    """The newest thing of the rhythm track: cells by their text, a metre with them, or a pickup.

    HELD among the cells stands for a note that is held over the bar line. `name` is what its step
    calls it. `apart`: it comes in two measures at least, of eight in both halves.
    """

    step: str
    count: int
    cells: frozenset[str]
    metre: Metre | None = None
    pickup: bool = False
    name: str = ""
    apart: bool = False

    def needed(self, measures: int) -> int:
        """How often a line of so many measures has it at least."""
        least = -(-self.count * measures // 8)
        return max(least, _APART) if self.apart else least

    def counted(self, often: int, measures: int) -> int:
        """How much of a measure that has it so often counts towards what is needed.

        Where it comes apart, one measure alone never has enough; any two that have it, and have it
        often enough together, do.
        """
        return min(often, self.needed(measures) - 1) if self.apart else often


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """What three steps allow and ask for. `skips` are pairs of tones, the lower one first.

    `steps` are the ids of the pitch, rhythm and voice step. `home` are the tones which every line
    may count on: those of the first pitch step, in minor those to start on. Neighbouring tones may
    always follow each other; any other move is one of `skips`. `both_ways`: lines keep the rules
    from the last note to the first too. `pickup` is the note that phrases may have before them.
    `held` are the notes that may be tied over a bar line, each to another of them or its like.
    """

    sequence: str
    steps: tuple[str, str, str]
    home: tuple[Tone, ...]
    tones: tuple[Tone, ...]
    skips: frozenset[Skip]
    cells: tuple[Cell, ...]
    metres: tuple[tuple[Metre, int], ...]
    conditions: Conditions
    forms: tuple[Form, ...]
    rules: Rules
    keys: KeyOrder
    texture: str
    pitch_focus: PitchFocus | None
    rhythm_focus: RhythmFocus | None
    both_ways: bool = False
    pickup: Cell | None = None
    held: tuple[Cell, ...] = ()

    @property
    def mode(self) -> Mode:
        """Major or minor."""
        return self.conditions.mode

    def degree(self, tone: Tone) -> int:
        """Scale steps above the tonic within an octave: 0 the tonic itself, 4 its fifth."""
        return (tone.step - self.mode.tonic_step) % _DEGREES

    @property
    def measures(self) -> tuple[int, ...]:
        """Lengths on offer."""
        return tuple(length for length, _ in self.conditions.measures)


def any_climax(level: Level) -> Level:
    """The level for lines that sing their top tone as often as they like, as several parts do."""
    return replace(level, conditions=replace(level.conditions, climax=Climax.ANY))


def upbeat_level(level: Level) -> Level:
    """The level for lines with a pickup: they may begin on more tones."""
    conditions = level.conditions
    start = tuple(dict.fromkeys((*conditions.start, *conditions.upbeat)))
    return replace(level, conditions=replace(conditions, start=start))


def level_of(sequence: Sequence, ids: Iterable[str]) -> Level:
    """What a choir may read at these steps, one of a track at most.

    A track that is not named takes its lowest step on which the named ones make music. Raises
    InputProblems for an unknown id, two steps of one track, or a step below what another requires.
    """
    chosen: dict[Track, Step] = {}
    faults: list[Fault] = []
    for step_id in ids:
        try:
            step = sequence.step(step_id)
        except InputProblems as problems:
            faults += problems.faults
            continue
        if step.track in chosen:
            problem = f"a second step in the {step.track} track beside {chosen[step.track].id}"
            faults.append(Fault(place=step_id, problem=problem, remedy="name one a track"))
        chosen.setdefault(step.track, step)
    named = dict(chosen)
    for track in Track:
        chosen.setdefault(track, sequence.lowest(track))
    for step in named.values():
        for other in map(sequence.step, step.requires):
            if other in sequence.up_to(chosen[other.track]):
                continue
            if other.track in named:
                problem = f"requires {other.id}, and the choir is at {named[other.track].id}"
                faults.append(Fault(place=step.id, problem=problem))
            chosen[other.track] = other
    if faults:
        raise InputProblems(faults)
    return _level(sequence, chosen)


def _level(sequence: Sequence, chosen: dict[Track, Step]) -> Level:
    pitch = [step.element for step in sequence.up_to(chosen[Track.PITCH])]
    rhythm = [step.element for step in sequence.up_to(chosen[Track.RHYTHM])]
    metres = [element.metre for element in rhythm if element.metre]
    pitch_step = chosen[Track.PITCH]
    conditions = sequence.conditions_at(pitch_step)
    texture = [step.element.texture for step in sequence.up_to(chosen[Track.VOICE])][-1] or ""
    if texture != _ONE_LINE:
        conditions = replace(conditions, climax=Climax.ANY)
    reached = [step.id for step in sequence.up_to(pitch_step)]
    return Level(
        sequence=sequence.id,
        steps=(pitch_step.id, chosen[Track.RHYTHM].id, chosen[Track.VOICE].id),
        home=pitch[0].tones if conditions.mode is Mode.MAJOR else conditions.start,
        tones=_tones(sequence, pitch_step),
        skips=frozenset(skip for element in pitch for skip in element.skips),
        cells=_cells(rhythm),
        metres=tuple((metre, often) for metre, often in sequence.metres if metre in metres),
        conditions=conditions,
        forms=tuple(form for start, form in sequence.forms if start in reached),
        rules=sequence.rules,
        keys=sequence.keys[conditions.mode],
        texture=texture,
        pitch_focus=_pitch_focus(pitch_step),
        rhythm_focus=_rhythm_focus(chosen[Track.RHYTHM]),
        pickup=next((element.pickup for element in rhythm if element.pickup), None),
        held=tuple(cell for element in rhythm for cell in element.held),
    )


def _tones(sequence: Sequence, pitch_step: Step) -> tuple[Tone, ...]:
    """The tones in play: all that were learnt and are not left out, altered ones in their mode."""
    conditions = sequence.conditions_at(pitch_step)
    return tuple(
        sorted(
            {
                tone
                for step in sequence.up_to(pitch_step)
                for tone in (*step.element.tones, *step.element.through)
                if not tone.alter or sequence.conditions_at(step).mode is conditions.mode
                if tone not in conditions.without
            }
        )
    )


def _cells(rhythm: list[Element]) -> tuple[Cell, ...]:
    cells: dict[str, Cell] = {}
    for element in rhythm:
        for cell in element.cells:
            cells.setdefault(cell.text, cell)
    return tuple(cells.values())


def _pitch_focus(step: Step) -> PitchFocus | None:
    element = step.element
    if not step.focus or element.kind in (Kind.TONES, Kind.MODE):
        return None
    if element.kind is Kind.TONE:
        new = {(tone.step % _DEGREES, tone.alter) for tone in element.tones}
        octaves = (*element.tones, *element.through)
        tones = frozenset(t for t in octaves if (t.step % _DEGREES, t.alter) in new)
        return PitchFocus(step=step.id, name=step.name, count=step.focus, tones=tones)
    skips = frozenset(element.skips)
    return PitchFocus(step=step.id, name=step.name, count=step.focus, skips=skips)


def _rhythm_focus(step: Step) -> RhythmFocus | None:
    if not step.focus:
        return None
    texts = {cell.text for cell in step.element.cells} | ({HELD} if step.element.held else set())
    return RhythmFocus(
        step=step.id,
        name=step.name,
        count=step.focus,
        cells=frozenset(texts),
        metre=step.element.metre,
        pickup=step.element.kind is Kind.PICKUP,
        apart=step.apart,
    )
