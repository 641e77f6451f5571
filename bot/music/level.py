"""Everything that a choir at its three steps may read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bot.errors import Fault, InputProblems
from bot.music.cell import Cell
from bot.music.exercise import Tone
from bot.music.rhythm import Metre
from bot.music.sequence import (
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


@dataclass(frozen=True, slots=True, kw_only=True)
class PitchFocus:
    """The newest thing of the pitch track: tones to arrive at, or skips to take."""

    step: str
    count: int
    tones: frozenset[Tone] = frozenset()
    skips: frozenset[Skip] = frozenset()

    def needed(self, measures: int) -> int:
        """How often a line of so many measures has it at least."""
        return -(-self.count * measures // 8)


@dataclass(frozen=True, slots=True, kw_only=True)
class RhythmFocus:
    """The newest thing of the rhythm track: cells by their text, and the metre that came along."""

    step: str
    count: int
    cells: frozenset[str]
    metre: Metre | None = None

    def needed(self, measures: int) -> int:
        """How often a line of so many measures has it at least."""
        return -(-self.count * measures // 8)


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """What three steps allow and ask for. `skips` are pairs of tones, the lower one first.

    `steps` are the ids of the pitch, rhythm and voice step. `home` are the tones of the first pitch
    step, which every line may count on. Neighbouring tones may always follow each other; any other
    move is one of `skips`. `both_ways`: lines keep the rules from the last note to the first too.
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

    @property
    def measures(self) -> tuple[int, ...]:
        """Lengths on offer."""
        return tuple(length for length, _ in self.conditions.measures)


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
            if other.id <= chosen[other.track].id:
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
    tones = {tone for element in pitch for tone in (*element.tones, *element.through)}
    metres = [element.metre for element in rhythm if element.metre]
    pitch_step = chosen[Track.PITCH]
    reached = [step.id for step in sequence.up_to(pitch_step)]
    voice = [step.element.texture for step in sequence.up_to(chosen[Track.VOICE])]
    return Level(
        sequence=sequence.id,
        steps=(pitch_step.id, chosen[Track.RHYTHM].id, chosen[Track.VOICE].id),
        home=pitch[0].tones,
        tones=tuple(sorted(tones)),
        skips=frozenset(skip for element in pitch for skip in element.skips),
        cells=_cells(rhythm),
        metres=tuple((metre, often) for metre, often in sequence.metres if metre in metres),
        conditions=[held for start, held in sequence.conditions if start in reached][-1],
        forms=tuple(form for start, form in sequence.forms if start in reached),
        rules=sequence.rules,
        keys=sequence.keys,
        texture=voice[-1] or "",
        pitch_focus=_pitch_focus(pitch_step),
        rhythm_focus=_rhythm_focus(chosen[Track.RHYTHM]),
    )


def _cells(rhythm: list[Element]) -> tuple[Cell, ...]:
    cells: dict[str, Cell] = {}
    for element in rhythm:
        for cell in element.cells:
            cells.setdefault(cell.text, cell)
    return tuple(cells.values())


def _pitch_focus(step: Step) -> PitchFocus | None:
    element = step.element
    if not step.focus or element.kind is Kind.TONES:
        return None
    if element.kind is Kind.TONE:
        return PitchFocus(step=step.id, count=step.focus, tones=frozenset(element.tones))
    return PitchFocus(step=step.id, count=step.focus, skips=frozenset(element.skips))


def _rhythm_focus(step: Step) -> RhythmFocus | None:
    if not step.focus:
        return None
    texts = frozenset(cell.text for cell in step.element.cells)
    return RhythmFocus(step=step.id, count=step.focus, cells=texts, metre=step.element.metre)
