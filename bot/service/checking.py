"""What a director's music needs: the lowest step that holds it, and whether a voice can sing it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from bot.errors import NoExercise
from bot.music.exercise import Exercise
from bot.music.level import Level, level_of
from bot.music.needs import Atom, Needs, needs
from bot.music.sequence import Sequence as Steps
from bot.music.sequence import Track
from bot.music.variants import apart
from bot.music.voice import DEFAULT_RANGES, Voice
from bot.notation.read import music_from_musicxml
from bot.notation.words import key_words, summary
from bot.service.content import Content
from bot.service.placing import line_alone
from bot.wording import Wording

_SHOWN = 8  # places of one kind; more say nothing new


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What was found, in lines to print; `fits` where nothing that was asked for is missing."""

    lines: tuple[str, ...]
    fits: bool

    @property
    def text(self) -> str:
        """The lines as one text."""
        return "\n".join(self.lines)


def check_file(
    data: bytes,
    file: str,
    content: Content,
    *,
    steps: Sequence[str] | None = None,
    voice: Voice | None = None,
    sequence: str = "steps-first",
) -> Report:
    """Report on a MusicXML file; InputProblems where it cannot be read or a step is unknown."""
    music = music_from_musicxml(data, file)
    order, say = content.sequences[sequence], content.wording
    level = level_of(order, steps) if steps else None
    lines = [say("checking.file", file=file, summary=summary(music.exercise, say))]
    fits = True
    for index in range(len(music.exercise.parts)):
        alone = line_alone(music.exercise, index)
        if len(music.exercise.parts) > 1:
            lines.append(say("checking.part", number=index + 1))
        found = needs(alone, order)
        lines += _steps(found, order, say)
        if level is not None:
            beyond = [_place(atom, say) for atom in _above(found, level)]
            lines += [say("checking.above", what=what) for what in beyond[:_SHOWN]]
            fits = fits and not beyond
        if voice is not None:
            line, sung = _voice(alone, voice, say)
            lines.append(line)
            fits = fits and sung
    return Report(lines=tuple(lines), fits=fits)


def _steps(found: Needs, order: Steps, say: Wording) -> Iterator[str]:
    """The lowest step of each track, what pushes the line there, what lies beyond the order."""
    for track, step_id in (
        (Track.PITCH, found.pitch),
        (Track.RHYTHM, found.rhythm),
        (Track.VOICE, found.voice),
    ):
        yield say("checking.step", step=step_id, name=order.step(step_id).name)
        if step_id != order.lowest(track).id:
            pushing = [atom for atom in found.pushing if atom.track is track]
            yield from (say("checking.because", what=_place(a, say)) for a in pushing[:_SHOWN])
    for atom in found.beyond[:_SHOWN]:
        yield say("checking.beyond", what=_place(atom, say))


def _above(found: Needs, level: Level) -> list[Atom]:
    """Atoms that come later than the level's own steps, or never."""
    return [
        atom
        for atom in found.atoms
        if atom.step is None or all(atom.step > s for s in level.steps if s[0] == atom.step[0])
    ]


def _voice(exercise: Exercise, voice: Voice, say: Wording) -> tuple[str, bool]:
    """One sentence on a voice, and whether it can sing the line in the line's own key."""
    limits = DEFAULT_RANGES[voice]
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


def _place(atom: Atom, say: Wording) -> str:
    beat = str(atom.beat) if atom.beat.denominator == 1 else _mixed(atom.beat)
    return say(
        "checking.place", what=say(atom.kind, what=atom.what), measure=atom.measure, beat=beat
    )


def _mixed(beat: Fraction) -> str:
    whole, rest = divmod(beat, 1)
    return f"{whole} {rest}"
