"""The order of steps for the command line: a list to read, or a table for other programs."""

from __future__ import annotations

import json
from collections.abc import Iterator
from fractions import Fraction

from bot.music.sequence import Climax, Sequence, Step, Track
from bot.music.step_table import Known, step_table
from bot.music.voice import DEFAULT_RANGES
from bot.service.content import Content
from bot.wording import Wording

_EIGHTH = Fraction(1, 8)


def steps_as_text(content: Content) -> str:
    """Every step on a line, by sequence and track: its id and its name."""
    lines: list[str] = []
    for sequence in content.sequences.values():
        lines.append(f"{sequence.title} ({sequence.id})")
        for track in Track:
            for step in sequence.track(track):
                lines.append(f"  {step.id}  {step.name}")
                lines += [f"       {said}" for said in _kept_from(sequence, step, content.wording)]
    return "\n".join(lines)


def _kept_from(sequence: Sequence, step: Step, say: Wording) -> Iterator[str]:
    """What is told of lines that keep to something from a step on, or at it."""
    kept = dict(sequence.conditions).get(step.id)
    track = sequence.track(step.track)
    if kept is not None and step in track[1:]:
        before = sequence.conditions_at(track[track.index(step) - 1])
        if kept.climax is not before.climax:
            yield say(f"steps.climax.{kept.climax}")
            if kept.climax is Climax.ONCE and kept.peak:
                yield say(f"steps.peak.{kept.peak}")
    if step.apart:
        yield say("steps.rhythm.apart")
    widest = sequence.rules.from_sixteenths
    if widest and step == next(filter(_has_sixteenths, track), None):
        yield say(f"steps.from_sixteenths.{widest}")


def _has_sixteenths(step: Step) -> bool:
    return any(note.duration < _EIGHTH for cell in step.element.cells for note in cell.notes)


def steps_as_json(content: Content, *, every_pitch: bool = False) -> str:
    """A list of steps, each with its sequence and, for voices and keys, whether it composes.

    Steps with parts are there at their lowest pitch step, or at every one (see `step_table`).
    Where a line does not compose, the rule that forbids it stands there as a wording key with its
    values and as a sentence.
    """
    rows: list[dict[str, object]] = []
    known: Known = {}
    for sequence in content.sequences.values():
        for row in step_table(sequence, DEFAULT_RANGES, every_pitch=every_pitch, known=known):
            fits = [
                fit.tree()
                if fit.refusal is None
                else fit.tree()
                | {"because": content.wording(fit.refusal.key, **fit.refusal.values)}
                for fit in row.fits
            ]
            rows.append(row.tree() | {"sequence": sequence.id, "fits": fits})
    return json.dumps(rows, indent=1, ensure_ascii=False)
