"""What a director's music needs: the lowest step that holds it, what is hard, who can sing it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

from bot.errors import Fault, InputProblems, NoExercise
from bot.music.exercise import Exercise
from bot.music.letters import Dialect
from bot.music.level import Level, level_of
from bot.music.load import HardSpot, hard_spots, line_load, percentile, yardstick
from bot.music.needs import Atom, Kind, Needs, needs
from bot.music.pitch import Key
from bot.music.sequence import Sequence as Steps
from bot.music.sequence import Track
from bot.music.variants import apart
from bot.music.voice import DEFAULT_RANGES, Voice, VoiceRange
from bot.notation.brought import Brought, read_music
from bot.notation.words import key_words, summary
from bot.service.content import Content
from bot.service.criteria import CriteriaFindings, held_against
from bot.service.placing import line_alone
from bot.service.plain_words import atom_words, in_place, in_places
from bot.wording import Wording

_IN_A_SPOT = 3  # things that are named at a hard spot


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What music is held against: steps, a voice with its range, a published criterion or none."""

    steps: tuple[str, ...] = ()
    voice: Voice | None = None
    limits: VoiceRange | None = None  # of the voice; None for the usual one
    criteria: str | None = None  # an id, or an id and a reading such as florida-middle/2
    sequence: str = "steps-first"


@dataclass(frozen=True, slots=True, kw_only=True)
class StepFound:
    """The lowest step of a track, and what pushes the line there, in words."""

    id: str
    name: str
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFound:
    """One part: its steps and atoms, all in words. `voice` is a sentence, empty where none asked.

    `place` is the sentence on its percentile. `atoms` pairs each kind of thing with how often it
    comes and where it first does.
    """

    number: int
    steps: tuple[StepFound, ...]
    beyond: tuple[str, ...]
    above: tuple[str, ...]
    hard: tuple[str, ...]
    place: str
    atoms: tuple[str, ...]
    voice: str
    fits: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """All that was found, in words, for the command line and the desk."""

    file: str
    summary: str
    notices: tuple[str, ...]
    parts: tuple[PartFound, ...]
    criteria: CriteriaFindings | None

    @property
    def fits(self) -> bool:
        """Whether nothing that was asked for is missing."""
        differs = self.criteria is not None and bool(self.criteria.differences)
        return all(part.fits for part in self.parts) and not differs


def check_file(
    data: bytes,
    file: str,
    content: Content,
    asked: Asked,
    dialect: Dialect = Dialect.MODERN,
    key: str | None = None,
) -> Findings:
    """Look at a file of music; InputProblems where it cannot be read or an id is unknown.

    `dialect` names the chromatic tones of sol-fa letters, `key` the key of MIDI that names none.
    """
    wished = None
    if key:
        try:
            wished = Key.parse(key)
        except ValueError as error:
            raise InputProblems([Fault(place="--key", problem=str(error))]) from error
    return look_at(read_music(data, file, dialect=dialect, key=wished), file, content, asked)


def look_at(music: Brought, file: str, content: Content, asked: Asked) -> Findings:
    """Look at music that was read; InputProblems where a step, criterion or order is unknown."""
    order, say = content.sequences.get(asked.sequence), content.wording
    if order is None:
        problem, known = f"no order of steps {asked.sequence!r}", ", ".join(content.sequences)
        raise InputProblems([Fault(place="--sequence", problem=problem, remedy=known)])
    level = level_of(order, asked.steps) if asked.steps else None
    exercise = music.exercise
    criteria = (
        held_against(exercise, asked.criteria, content, asked.voice) if asked.criteria else None
    )
    together = needs(exercise, order)
    parts = tuple(
        _part(line_alone(exercise, index), index + 1, order, level, asked, say, together)
        for index in range(len(exercise.parts))
    )
    return Findings(
        file=file,
        summary=summary(exercise, say),
        notices=tuple(say(notice) for notice in music.notices),
        parts=parts,
        criteria=criteria,
    )


def _part(
    alone: Exercise,
    number: int,
    order: Steps,
    level: Level | None,
    asked: Asked,
    say: Wording,
    together: Needs,
) -> PartFound:
    """One part: its own line, and the voice step of all the music that it belongs to."""
    found = needs(alone, order)
    whole = _with_texture(found, together)
    beyond = () if level is None else _above(whole, level, order)
    above = tuple(in_places(beyond, say))
    sentence, sung = _voice(alone, asked, say) if asked.voice else ("", True)
    return PartFound(
        number=number,
        steps=tuple(_steps(whole, order, say)),
        beyond=tuple(in_places(whole.beyond, say)),
        above=above,
        hard=tuple(_spot(spot, say) for spot in hard_spots(found, order)),
        place=_percentile(found, order, alone.measures, say),
        atoms=tuple(_atoms(whole, say)),
        voice=sentence,
        fits=sung and not above,
    )


def _with_texture(found: Needs, together: Needs) -> Needs:
    """What a line needs where others sound with it."""
    own = [atom for atom in together.atoms if atom.track is Track.VOICE]
    pushing = [atom for atom in together.pushing if atom.track is Track.VOICE]
    return replace(
        found,
        voice=together.voice,
        atoms=(*own, *found.atoms),
        pushing=(*pushing, *found.pushing),
    )


def _steps(found: Needs, order: Steps, say: Wording) -> Iterator[StepFound]:
    for track, step_id in (
        (Track.PITCH, found.pitch),
        (Track.RHYTHM, found.rhythm),
        (Track.VOICE, found.voice),
    ):
        pushing = [atom for atom in found.pushing if atom.track is track]
        first = step_id == order.lowest(track).id
        because = () if first else tuple(in_places(pushing, say))
        yield StepFound(id=step_id, name=order.step(step_id).name, because=because)


def _above(found: Needs, level: Level, order: Steps) -> list[Atom]:
    """Atoms that come later in the order than the level's own steps, or never."""
    met = {step.id for own in order.steps if own.id in level.steps for step in order.up_to(own)}
    return [atom for atom in found.atoms if atom.step not in met]


def _spot(spot: HardSpot, say: Wording) -> str:
    atoms = [atom for atom in spot.atoms if atom.kind is not Kind.PICKUP] or spot.atoms
    named = "; ".join(atom_words(atom, say) for atom in atoms[:_IN_A_SPOT])
    return in_place(named, spot.measure, spot.beat, say)


def _percentile(found: Needs, order: Steps, measures: int, say: Wording) -> str:
    if found.beyond:
        return say("checking.no_percentile")
    among = list(_yardstick(_At(order, (found.pitch, found.rhythm))))
    share = percentile(line_load(found, order, measures), among)
    if share is None:
        return say("checking.no_yardstick")
    if share in (0, 100):
        return say("checking.most" if share else "checking.least", lines=len(among))
    return say("checking.percentile", share=share, lines=len(among))


class _At(NamedTuple):
    """Two steps of a sequence; equal only where the sequences are, whatever their ids."""

    order: Steps
    steps: tuple[str, str]

    def __hash__(self) -> int:
        return hash((self.order.id, self.steps))


@lru_cache(maxsize=32)
def _yardstick(at: _At) -> tuple[float, ...]:
    return tuple(yardstick(at.order, at.steps))


def _atoms(found: Needs, say: Wording) -> Iterator[str]:
    """Each thing once, with how often it comes."""
    seen: dict[tuple[str, str], list[Atom]] = {}
    for atom in found.atoms:
        seen.setdefault((atom.kind, atom.what), []).append(atom)
    for atoms in seen.values():
        yield say("checking.times", what=atom_words(atoms[0], say), count=len(atoms))


def _voice(exercise: Exercise, asked: Asked, say: Wording) -> tuple[str, bool]:
    """One sentence on a voice, and whether it can sing the line in the line's own key."""
    assert asked.voice is not None
    limits = asked.limits or DEFAULT_RANGES[asked.voice]
    outside = [pitch for pitch in exercise.pitches() if not limits.holds(pitch)]
    shown = {"low": limits.low, "high": limits.high}
    if not outside:
        return say("checking.sings", **shown), True
    furthest = min(outside) if min(outside) < limits.low else max(outside)
    octave = exercise.parts[0].do_octave
    for other in (octave - 1, octave + 1, octave - 2):
        if all(limits.holds(pitch) for pitch in exercise.in_key(exercise.key, (other,)).pitches()):
            return say("checking.other_octave", pitch=furthest, **shown), True
    try:
        better = key_words(apart(exercise, limits).key, say)
    except NoExercise:
        return say("checking.too_wide", pitch=furthest, **shown), False
    return say("checking.other_key", pitch=furthest, better=better, **shown), False


def as_lines(found: Findings, say: Wording, *, atoms: bool = False) -> Sequence[str]:
    """The findings as the command line prints them; `atoms` names all that is in the music."""
    lines = [say("checking.file", file=found.file, summary=found.summary), *found.notices]
    for part in found.parts:
        if len(found.parts) > 1:
            lines.append(say("checking.part", number=part.number))
        for step in part.steps:
            lines.append(say("checking.step", step=step.id, name=step.name))
            lines += [say("checking.because", what=what) for what in step.because]
        lines += [say("checking.beyond", what=what) for what in part.beyond]
        lines += [say("checking.hard", what=what) for what in part.hard]
        lines.append(say("checking.indented", what=part.place))
        lines += [say("checking.above", what=what) for what in part.above]
        lines += [say("checking.indented", what=part.voice)] if part.voice else []
        lines += [say("checking.has", what=atom) for atom in part.atoms] if atoms else []
    if found.criteria is not None:
        lines += [found.criteria.held, *found.criteria.differences, *found.criteria.notes]
    return lines
