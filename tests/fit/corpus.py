"""The folk tunes: read from the installed music21, filtered, split by clusters of variants.

Nothing here is written anywhere. Two tunes that share twelve notes in a row (degrees and
durations) are variants of one another; a cluster lies wholly in one part of the split, so that no
tune of the test is known to the fit under another title.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from tests.fit.abc_tunes import UNIT, Tune, tunes_of
from tests.fit.melody import WHOLE, Melody

SHARED = 12  # notes in a row that make two tunes variants of one another
LOWEST, HIGHEST = -3, 7  # the compass of the broad level: low so to high do
_MINOR = {2: {-1}, 5: {-1}, 6: {-1, 0}}  # how far degrees are raised above those of major
_LEFT_OUT = ("han", "test")  # Chinese tunes; the encoders' own test files


@dataclass(frozen=True, slots=True, kw_only=True)
class Corpus:
    """`train` is what numbers are fitted on; `left` and `right` are held out, halves of the test.

    Each half's surprisal is measured by an n-gram model of the other half. `minor` are the tunes in
    minor to fit on, `minor_held` those that are held out.
    """

    train: tuple[Melody, ...]
    left: tuple[Melody, ...]
    right: tuple[Melody, ...]
    minor: tuple[Melody, ...]
    minor_held: tuple[Melody, ...]
    losses: Counter[str]
    clusters: int


def folder() -> Path:
    """Where music21 installs the Essen tunes, found without importing music21."""
    spec = find_spec("music21")
    if spec is None or spec.origin is None:
        raise FileNotFoundError("music21 is not installed: pip install riserbell installs it")
    return Path(spec.origin).parent / "corpus" / "essenFolksong"


def read() -> Corpus:
    """Read, filter, cluster and split: about three seconds."""
    losses: Counter[str] = Counter()
    melodies: dict[bool, list[Melody]] = {False: [], True: []}  # in minor or not
    for path in sorted(folder().glob("*.abc")):
        if path.stem.startswith(_LEFT_OUT):
            continue
        for tune in tunes_of(path):
            taken = tune if isinstance(tune, str) else _melody(tune)
            if isinstance(taken, str):
                losses[taken] += 1
            else:
                melodies[isinstance(tune, Tune) and tune.signs].append(taken)
    major, minor = _split(melodies[False]), _split(melodies[True])
    return Corpus(
        train=major["train"], left=major["left"], right=major["right"],
        minor=minor["train"], minor_held=minor["left"] + minor["right"],
        losses=losses, clusters=len(clusters(_distinct(melodies[False]))),
    )  # fmt: skip


def _distinct(melodies: Iterable[Melody]) -> list[Melody]:
    """The melodies without exact doubles of their first fourteen notes."""
    listed = list(melodies)
    return list({melody.notes[:14]: melody for melody in reversed(listed)}.values())[::-1]


def _split(melodies: Iterable[Melody]) -> dict[str, tuple[Melody, ...]]:
    parts: dict[str, list[Melody]] = {"train": [], "left": [], "right": []}
    for group in clusters(_distinct(melodies)):
        parts[_part(group)].extend(group)
    return {name: tuple(part) for name, part in parts.items()}


def _in_minor(tune: Tune) -> bool:
    """Whether third and sixth are flat throughout, the seventh as it likes, and nothing else is."""
    altered: dict[int, set[int]] = {}
    for note in tune.notes:
        if note.step is not None:
            altered.setdefault((note.step - tune.tonic) % 7, set()).add(note.alter)
    return altered.get(2) == {-1} and all(
        signs <= _MINOR.get(degree, {0}) for degree, signs in altered.items()
    )


def _melody(tune: Tune) -> Melody | str:
    """The tune counted from its do, 2/4 written in doubled values; or why it is left out."""
    last = tune.notes[-1].step
    if last is None or last % 7 != tune.tonic:
        return "does not end on its tonic"
    if tune.signs and not _in_minor(tune):
        return "chromatic"
    steps = [note.step - last for note in tune.notes if note.step is not None]
    if len(steps) < 12:
        return "shorter than 12 notes"
    if not any(step % 7 == 2 for step in steps):
        return "no third"
    low = next((up for up in (0, 7) if min(steps) + up >= LOWEST and max(steps) + up <= HIGHEST), 0)
    factor = WHOLE * (2 if tune.metre == "2/4" else 1)
    times = [factor * time for note in tune.notes for time in (note.start, note.length)]
    if any(time % UNIT for time in [*times, factor * tune.pickup]):
        return "shorter than a sixteenth"
    notes = tuple(
        (note.start * factor // UNIT, note.length * factor // UNIT, note.step - last + low)
        for note in tune.notes
        if note.step is not None
    )
    measure, pickup = tune.measure * factor // UNIT, tune.pickup * factor // UNIT
    end = notes[-1][0] + notes[-1][1] - pickup
    bars = -(-end // measure)
    return Melody(
        measure=measure, pickup=pickup, notes=notes, length=pickup + bars * measure,
        beat=6 if tune.metre == "6/8" else 4,
        doubled=tune.metre == "2/4",
    )  # fmt: skip


def runs(melody: Melody, length: int = SHARED) -> Iterable[tuple[tuple[int, int], ...]]:
    """Every run of so many notes, as (step, length) pairs."""
    row = [(step, long) for _, long, step in melody.notes]
    return (tuple(row[at : at + length]) for at in range(len(row) - length + 1))


def clusters(melodies: Iterable[Melody]) -> list[list[Melody]]:
    """Group melodies that share a run, directly or through others (union-find)."""
    listed = list(melodies)
    above = list(range(len(listed)))

    def top(index: int) -> int:
        while above[index] != index:
            above[index] = above[above[index]]
            index = above[index]
        return index

    first: dict[tuple[tuple[int, int], ...], int] = {}
    for index, melody in enumerate(listed):
        for run in runs(melody):
            above[top(index)] = top(first.setdefault(run, index))
    groups: dict[int, list[Melody]] = {}
    for index, melody in enumerate(listed):
        groups.setdefault(top(index), []).append(melody)
    return list(groups.values())


def _part(group: list[Melody]) -> str:
    """Half of the clusters train, a quarter each side of the test, by a hash that never moves."""
    smallest = min(repr(melody.notes) for melody in group)
    return ("train", "left", "train", "right")[hashlib.sha256(smallest.encode()).digest()[0] % 4]


def windows(
    melodies: Iterable[Melody], measure: int = WHOLE, bars: int = 8, beat: int = 4
) -> list[Melody]:
    """Stretches of so many full measures that begin a phrase, end on do and keep the compass.

    Whole tunes, and the first and last measures of longer ones, without pickup.
    """
    found: dict[tuple[tuple[int, int, int], ...], Melody] = {}
    for melody in melodies:
        count = (melody.length - melody.pickup) // melody.measure
        if melody.pickup or (melody.measure, melody.beat) != (measure, beat) or count < bars:
            continue
        for first in {0, count - bars if count % 4 == 0 else 0}:
            window = _window(melody, first, bars)
            if window is not None:
                found[window.notes] = window
    return list(found.values())


def _window(melody: Melody, first: int, bars: int) -> Melody | None:
    start, end = first * melody.measure, (first + bars) * melody.measure
    cut = tuple((at - start, long, step) for at, long, step in melody.notes if start <= at < end)
    if not cut or cut[0][0] or cut[-1][0] + cut[-1][1] > end - start or cut[-1][2] != 0:
        return None
    if min(step for _, _, step in cut) < LOWEST or max(step for _, _, step in cut) > HIGHEST:
        return None
    return Melody(measure=melody.measure, length=end - start, notes=cut, beat=melody.beat)
