"""The collection of mystery tunes: read from the content folders, each placed on its steps."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import dropwhile
from pathlib import Path

from bot.activities.choir import Steps
from bot.errors import Fault, InputProblems
from bot.music.needs import needs
from bot.music.sequence import Sequence
from bot.music.step import Step, Track
from bot.music.tune import Tune, parse_tunes
from bot.notation.abc import exercise_from_abc
from bot.service.content import Content
from bot.wording import Wording

_INDEX = "tunes.toml"
_placed: dict[tuple[tuple[Path, ...], str], tuple[Sequence, tuple[PlacedTune, ...]]] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedTune:
    """A tune with the lowest steps of an order that hold it; `beyond`: some of it no step brings.

    `met` are the ids of the steps at which a choir has met all that is in it.
    """

    tune: Tune
    pitch: Step
    rhythm: Step
    beyond: bool
    met: frozenset[str]

    def within(self, steps: Steps) -> bool:
        """Whether a choir at these steps has met all that is in it."""
        return not self.beyond and {steps.pitch, steps.rhythm} <= self.met


def placed_tunes(content: Content, sequence: Sequence) -> tuple[PlacedTune, ...]:
    """Every tune with its steps, the easiest first; InputProblems lists all faults of all files.

    To place them takes a third of a second, so what is known of an order is kept.
    """
    key = content.tune_folders, sequence.id
    if key not in _placed or _placed[key][0] != sequence:
        _placed[key] = sequence, _place(content, sequence)
    return _placed[key][1]


def _place(content: Content, sequence: Sequence) -> tuple[PlacedTune, ...]:
    order = [step.id for step in sequence.steps]
    tracks = {track: sequence.track(track) for track in (Track.PITCH, Track.RHYTHM)}
    found = []
    for tune in _tunes(content.tune_folders):
        asks = needs(tune.exercise, sequence)
        pitch, rhythm = sequence.step(asks.pitch), sequence.step(asks.rhythm)
        later = [*_from(pitch, tracks[Track.PITCH]), *_from(rhythm, tracks[Track.RHYTHM])]
        found.append(
            PlacedTune(
                tune=tune,
                pitch=pitch,
                rhythm=rhythm,
                beyond=bool(asks.beyond),
                met=frozenset(step.id for step in later),
            )
        )
    return tuple(
        sorted(
            found,
            key=lambda each: (each.beyond, order.index(each.pitch.id), order.index(each.rhythm.id)),
        )
    )


def _from(step: Step, track: Iterable[Step]) -> Iterable[Step]:
    """A step and those after it in its track: their ids do not say which comes first."""
    return dropwhile(lambda each: each != step, track)


def tune_line(placed: PlacedTune, *, on: bool, say: Wording) -> str:
    """One tune in one line of text: step, title, origin, what it is marked as, on or off."""
    tune = placed.tune
    marks = [say("tune.beyond")] if placed.beyond else []
    marks += [say("tune.devotional")] if tune.devotional else []
    return say(
        "tune.line",
        step=f"{placed.pitch.id},{placed.rhythm.id}",
        title=tune.title,
        origin=origin_of(tune, say),
        marks="".join(f" ({mark})" for mark in marks),
        state=say("tune.on") if on else say("tune.off"),
    )


def called(tune: Tune) -> str:
    """The name by which a tune is chosen: beside it one that a choir elsewhere knows it by."""
    return f"{tune.title} ({tune.also[0]})" if tune.also else tune.title


def origin_of(tune: Tune, say: Wording) -> str:
    """Where and when a tune comes from, in words."""
    return say("tune.origin", country=tune.country, years=f"{tune.century - 1}00")


def told_of(tune: Tune, say: Wording) -> tuple[str, ...]:
    """What is told of a tune once it was named, sentence by sentence."""
    told = [tune.history, say("tune.when", origin=origin_of(tune, say))]
    if tune.printed:
        told.append(say("tune.printed", printed=tune.printed))
    if tune.also:
        told.append(say("tune.also", names=", ".join(tune.also)))
    return tuple(told)


@cache
def _tunes(folders: tuple[Path, ...]) -> tuple[Tune, ...]:
    """The collections laid over one another: a later one replaces a tune of the same name."""
    found: dict[str, Tune] = {}
    faults: list[Fault] = []
    for folder in folders:
        index = folder / _INDEX
        if not index.is_file():
            continue
        text = index.read_text(encoding="utf-8")
        try:
            read = parse_tunes(text, _music(folder), exercise_from_abc, str(index))
        except InputProblems as problems:
            faults += problems.faults
            continue
        found |= {tune.id: tune for tune in read}
    if faults:
        raise InputProblems(faults)
    return tuple(found.values())


def _music(folder: Path) -> Mapping[str, str]:
    return {file.stem: file.read_text(encoding="utf-8") for file in sorted(folder.glob("*.abc"))}
