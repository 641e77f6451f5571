"""The pace of a choir: for each track to stay, go on or go back, with the evidence; weak skills.

Pure, over what a class said of its lines (counts under the display floor, None where they are too
small to be shown), what the director called in matches, and where slips were heard. Nothing of a
seat comes in here. The director decides; a proposal is a sentence with its figures.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from bot.music.sequence import Track

# Ours, to be corrected by directors: no source gives figures for a class.
LEAST_DAYS = 4  # days with evidence before anything but staying is proposed
STEADY_ENOUGH = 0.8
NOT_YET_TOO_MUCH = 1 / 3
_SLIPS_OF_A_TRACK = 3  # right claims at its places, at least, before they say where to go back
_SHRINK = 6.0  # atoms of average trouble that every step is credited with
WEAK = 0.04  # trouble above the average from which on a skill counts as weak
_SLIP = 0.02  # what one slip at a step adds
SPACING = 3  # meeting days between two lines that come back to the same skill


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """What a class said of one day: shares that are certain, whatever the hidden figures are.

    `steady` and `not_yet` are the least that they can be, 0 to 1; `singers` how many answered.
    """

    singers: int
    steady: float
    not_yet: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DayEvidence:
    """One day's line: the steps at which it was read, and how often each step's thing is in it.

    `verdicts` are calls of a match that day (2 read, 1 nearly, 0 not yet), `slips` the steps of
    what stood where a slip was rightly heard.
    """

    on: date
    steps: Mapping[Track, str]
    atoms: Mapping[str, int]
    counts: Counts | None = None
    verdicts: tuple[int, ...] = ()
    slips: tuple[str, ...] = ()

    @property
    def told(self) -> bool:
        """Whether anything is known of how it went."""
        return self.counts is not None or bool(self.verdicts)

    @property
    def trouble(self) -> float:
        """How hard it was, 0 to 1: what was not steady, or not read."""
        found = []
        if self.counts is not None:
            found.append(1.0 - self.counts.steady)
        if self.verdicts:
            found.append(1.0 - sum(self.verdicts) / (2 * len(self.verdicts)))
        return sum(found) / len(found) if found else 0.0


class Move(StrEnum):
    """What is proposed for a track."""

    STAY = "stay"
    ON = "on"
    BACK = "back"


class Because(StrEnum):
    """Why."""

    FEW = "few"  # too little is known at this step
    SETTLING = "settling"  # neither secure nor lost
    SECURE = "secure"
    LOST = "lost"
    OTHER_FIRST = "other-first"  # another track goes first: one new thing at a time
    LAST_STEP = "last-step"  # secure, and there is no step after it
    FIRST_STEP = "first-step"  # lost, and there is no step before it


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What a proposal rests on: days at the step, days of which something is known, shares."""

    days: int
    told: int
    steady: float
    not_yet: float
    slips: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """What is proposed for one track; `to` is the step to go to, None where it stays."""

    track: Track
    step: str
    move: Move
    because: Because
    evidence: Evidence
    to: str | None = None


def propose_pace(
    evidence: Sequence[DayEvidence],
    now: Mapping[Track, str],
    before: Mapping[Track, str | None],
    after: Mapping[Track, str | None],
    tracks: Mapping[str, Track],
) -> tuple[Proposal, ...]:
    """A proposal for each track; one track moves at a time.

    `evidence` is in order of days; `now` are the choir's steps, `before` and `after` the steps
    around them; `tracks` says to which track each step belongs. Going on: the track that has
    waited longest. Going back: the one whose places the slips name, else the one that moved last.
    """
    since = {track: _since(evidence, track, step) for track, step in now.items()}
    here = min((len(days) for days in since.values()), default=0)
    recent = [day for day in evidence[len(evidence) - here :] if day.told]
    steady, not_yet = _shares(recent)
    slips = _slips(recent, tracks)
    verdict = _verdict(len(recent), steady, not_yet)
    mover = _mover(verdict, since, slips, before if verdict is Because.LOST else after)
    found = []
    for track, step in now.items():
        shown = Evidence(
            days=len(since[track]),
            told=len(recent),
            steady=steady,
            not_yet=not_yet,
            slips=slips[track],
        )
        move, because, to = _proposed(track, verdict, mover, before[track], after[track])
        found.append(
            Proposal(track=track, step=step, move=move, because=because, evidence=shown, to=to)
        )
    return tuple(found)


def weak_steps(evidence: Sequence[DayEvidence], newest: Mapping[Track, str]) -> tuple[str, ...]:
    """Steps before the newest whose lines went worse than the average, the weakest first.

    The trouble of a day is shared out among the things that its line had; a slip that was heard at
    a thing counts beside.
    """
    told = [day for day in evidence if day.told]
    if len(told) < LEAST_DAYS:
        return ()
    mean = sum(day.trouble for day in told) / len(told)
    weights: Counter[str] = Counter()
    trouble: dict[str, float] = {}
    for day in told:
        for step, count in day.atoms.items():
            weights[step] += count
            trouble[step] = trouble.get(step, 0.0) + count * day.trouble
    slips = Counter(step for day in told for step in day.slips)
    scores = {
        step: (trouble[step] + _SHRINK * mean) / (weights[step] + _SHRINK) - mean
        + _SLIP * slips[step]
        for step in weights
    }  # fmt: skip
    tops = set(newest.values())
    weak = [step for step in scores if scores[step] >= WEAK and step not in tops]
    return tuple(sorted(weak, key=lambda step: (-scores[step], step)))


def focus_of(weak: Sequence[str], recent: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    """The earlier steps to which the next line comes back: one, or none.

    `recent` are the focuses of the lines before it, the latest last. Every other line at most
    comes back to anything, and no skill sooner than after `SPACING` meeting days, so that the
    class meets it again over weeks and the newest thing keeps its place in between.
    """
    if recent and recent[-1]:
        return ()
    lately = {step for focus in recent[-SPACING:] for step in focus}
    fresh = [step for step in weak if step not in lately]
    return tuple(fresh[:1])


def _since(evidence: Sequence[DayEvidence], track: Track, step: str) -> Sequence[DayEvidence]:
    """The latest days in a row at a step."""
    count = 0
    for day in reversed(evidence):
        if day.steps.get(track) != step:
            break
        count += 1
    return evidence[len(evidence) - count :]


def _shares(told: Sequence[DayEvidence]) -> tuple[float, float]:
    """Certain shares of steady and not yet over days; a match's verdicts count as a day's."""
    if not told:
        return 0.0, 0.0
    steady, not_yet = 0.0, 0.0
    for day in told:
        shares = []
        if day.counts is not None:
            shares.append((day.counts.steady, day.counts.not_yet))
        if day.verdicts:
            number = len(day.verdicts)
            shares.append((day.verdicts.count(2) / number, day.verdicts.count(0) / number))
        steady += sum(share for share, _ in shares) / len(shares)
        not_yet += sum(share for _, share in shares) / len(shares)
    return steady / len(told), not_yet / len(told)


def _slips(told: Sequence[DayEvidence], tracks: Mapping[str, Track]) -> Mapping[Track, int]:
    """Right claims at places of each track."""
    found = Counter(tracks[step] for day in told for step in day.slips if step in tracks)
    return {track: found[track] for track in Track}


def _verdict(told: int, steady: float, not_yet: float) -> Because:
    if told < LEAST_DAYS:
        return Because.FEW
    if not_yet >= NOT_YET_TOO_MUCH:
        return Because.LOST
    if steady >= STEADY_ENOUGH:
        return Because.SECURE
    return Because.SETTLING


def _mover(
    verdict: Because,
    since: Mapping[Track, Sequence[DayEvidence]],
    slips: Mapping[Track, int],
    neighbours: Mapping[Track, str | None],
) -> Track | None:
    """The one track that moves; None where none does."""
    able = [track for track in since if neighbours[track] is not None]
    if not able or verdict not in (Because.SECURE, Because.LOST):
        return None
    if verdict is Because.SECURE:
        return max(able, key=lambda track: len(since[track]))
    named = max(able, key=lambda track: slips[track])
    if slips[named] >= _SLIPS_OF_A_TRACK:
        return named
    return min(able, key=lambda track: len(since[track]))


def _proposed(
    track: Track, verdict: Because, mover: Track | None, before: str | None, after: str | None
) -> tuple[Move, Because, str | None]:
    if verdict is Because.LOST:
        if track is mover:
            return Move.BACK, verdict, before
        return Move.STAY, Because.FIRST_STEP if before is None else Because.OTHER_FIRST, None
    if verdict is Because.SECURE:
        if track is mover:
            return Move.ON, verdict, after
        return Move.STAY, Because.LAST_STEP if after is None else Because.OTHER_FIRST, None
    return Move.STAY, verdict, None
