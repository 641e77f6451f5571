"""How a choir's lines went, gathered for its pace: class counts under the floor, calls of matches.

`gather` reads rows and nothing else; `evidence_of` takes lines apart, which is work for a thread.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from bot.activities.choir import Choir
from bot.activities.match import apply, begin
from bot.activities.match_call import Call, Say
from bot.activities.match_sides import draw_sides
from bot.activities.match_state import Match, Setup
from bot.activities.pacing import Counts, DayEvidence
from bot.activities.reading import Reading
from bot.activities.reading_day import Phase
from bot.activities.taps import Went
from bot.music.exercise import Exercise
from bot.music.needs import Atom, needs
from bot.music.sequence import Sequence as StepOrder
from bot.music.sequence import Track
from bot.privacy.floors import shown_counts
from bot.store.database import Snapshot
from bot.store.matches import MatchRow, journal_of, lines_of_match, matches_of
from bot.store.month import phases_between, readings_between
from bot.store.practice import class_counts
from bot.store.readings import find_reading

LOOKED_BACK = timedelta(weeks=8)
_REMEMBERED = 5000  # lines that are held taken apart
_READ = frozenset({Phase.CLAIMED, Phase.SENT, Phase.UNSURE})


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedMatch:
    """A match with the readings of its turns, in order, and all its calls."""

    row: MatchRow
    readings: tuple[Reading, ...]
    journal: tuple[Call, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """What is known of a choir's last weeks, as it is kept. `counts` stand under the floor."""

    readings: Mapping[date, Reading]
    counts: Mapping[date, Counts]
    matches: tuple[PlayedMatch, ...]


async def gather(
    read: Snapshot, choir: Choir, until: date, least: int | None, *, only_told: bool = False
) -> Material:
    """Everything before a date, eight weeks back; no counts where no sheet allows them.

    `least` is the display floor. Lines of another order of steps tell nothing of this one.
    `only_told`: nothing at all where nothing is known of how anything went.
    """
    choir_id, sequence = choir.id, choir.steps.sequence
    first, last = until - LOOKED_BACK, until - timedelta(days=1)
    counts = {} if least is None else await class_counts(read, choir_id, first)
    found = []
    for row in await matches_of(read, choir_id, first):
        if row.on <= last:
            lines = [await find_reading(read, line) for line in await lines_of_match(read, row.id)]
            known = tuple(line for line in lines if line is not None)
            journal = await journal_of(read, row.id)
            found.append(PlayedMatch(row=row, readings=known, journal=journal))
    wanted = bool(counts or found) or not only_told
    readings = await readings_between(read, choir_id, first, last) if wanted else {}
    phases = await phases_between(read, choir_id, first, last)
    return Material(
        readings={
            on: each
            for on, each in readings.items()
            if each.steps.sequence == sequence and _READ & phases.get(on, frozenset())
        },
        counts={
            on: shown
            for on, day in counts.items()
            if (shown := _certain(day, least or 0)) is not None
        },
        matches=tuple(
            match for match in found if all(r.steps.sequence == sequence for r in match.readings)
        ),
    )


class Taken:
    """Lines that were taken apart before, by their fingerprint, for one order of steps."""

    def __init__(self, sequence: StepOrder) -> None:
        self._sequence = sequence
        self._known: dict[str, tuple[Atom, ...]] = {}

    def atoms(self, exercise: Exercise) -> tuple[Atom, ...]:
        """The atoms of a line, in the order of places."""
        fingerprint = exercise.fingerprint()
        if fingerprint not in self._known:
            if len(self._known) >= _REMEMBERED:
                self._known.clear()
            self._known[fingerprint] = needs(exercise, self._sequence).atoms
        return self._known[fingerprint]

    def counts(self, exercise: Exercise) -> Counter[str]:
        """How often the thing of each step is in a line."""
        return Counter(atom.step for atom in self.atoms(exercise) if atom.step)


def evidence_of(material: Material, taken: Taken) -> tuple[DayEvidence, ...]:
    """One value for each day on which something was read, in order."""
    days = {
        on: DayEvidence(
            on=on,
            steps=_steps(reading),
            atoms=taken.counts(reading.exercise),
            counts=material.counts.get(on),
        )
        for on, reading in material.readings.items()
    }
    for match in material.matches:
        fresh = _played(match, taken)
        if fresh is not None:
            here = days.get(fresh.on)
            days[fresh.on] = fresh if here is None else _both(here, fresh)
    return tuple(days[on] for on in sorted(days))


def _certain(day: Mapping[Went, int], least: int) -> Counts | None:
    """What can be said for certain of a day's counts under the floor."""
    shown = shown_counts({went.value: day.get(went, 0) for went in Went}, least)
    if not shown.total:
        return None
    return Counts(
        singers=shown.total,
        steady=(shown.parts[Went.STEADY.value] or 0) / shown.total,
        not_yet=(shown.parts[Went.NOT_YET.value] or 0) / shown.total,
    )


def _steps(reading: Reading) -> Mapping[Track, str]:
    steps = reading.steps
    return {Track.PITCH: steps.pitch, Track.RHYTHM: steps.rhythm, Track.VOICE: steps.voice}


def _played(match: PlayedMatch, taken: Taken) -> DayEvidence | None:
    """What a match tells: verdicts, and the things that stood where slips were rightly heard."""
    begun = match.row.begun
    now = begin(
        Setup(
            rules=begun.rules,
            sides=draw_sides(begun.heads, begun.rules, begun.seed),
            turns=begun.turns,
            lines=begun.lines,
        )
    )
    verdicts: list[int] = []
    slips: list[str] = []
    read: set[int] = set()
    for call in _in_force(match.journal):
        if call.say is Say.PHRASE:
            verdicts.append(call.number)
            read.add(now.line)
        elif call.say is Say.RIGHT:
            slips += _at_place(match, now, taken)
        now = apply(now, call)
    lines = [match.readings[line] for line in sorted(read) if line < len(match.readings)]
    if not lines:
        return None
    atoms: Counter[str] = Counter()
    for line in lines:
        atoms.update(taken.counts(line.exercise))
    return DayEvidence(
        on=match.row.on,
        steps=_steps(lines[0]),
        atoms=atoms,
        verdicts=tuple(verdicts),
        slips=tuple(slips),
    )


def _in_force(journal: Sequence[Call]) -> Sequence[Call]:
    """The calls that were not taken back."""
    kept: list[Call] = []
    for call in journal:
        if call.say is Say.UNDO:
            kept.pop()
        else:
            kept.append(call)
    return kept


def _at_place(match: PlayedMatch, now: Match, taken: Taken) -> Sequence[str]:
    """The steps of what stands in the measure and beat of a claim."""
    if now.line >= len(match.readings):
        return ()
    measure, beat = now.place
    found = {
        atom.step
        for atom in taken.atoms(match.readings[now.line].exercise)
        if atom.step and atom.measure == measure and int(atom.beat) == beat
    }
    return sorted(found)


def _both(one: DayEvidence, other: DayEvidence) -> DayEvidence:
    """A day with a card and a match, or with two matches."""
    return replace(
        one,
        atoms=Counter(one.atoms) + Counter(other.atoms),
        verdicts=one.verdicts + other.verdicts,
        slips=one.slips + other.slips,
    )


def tracks_of(sequence: StepOrder) -> Mapping[str, Track]:
    """To which track each step belongs."""
    return {step.id: step.track for step in sequence.steps}
