r"""One telling of a story to one choir: scenes told, paths voted, undone, gone on with another day.

    telling -> voting -> chosen -> telling ... -> ended
        \          \-> question -> chosen     a tie or too few ballots: the director settles it
         \-> chosen                           the director taps the path that the hands showed

Pure: `replay` folds a journal of seatless events, `apply` gives the next state or refuses,
`announce` says what has to be done about a change, so that a replay says nothing twice.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from enum import StrEnum
from typing import assert_never

from bot.activities.story import Scene, Story
from bot.activities.vote import Outcome
from bot.errors import Refused


class Venue(StrEnum):
    """Where a story is told."""

    CLASS = "class"  # on the stage: hands are raised, the director taps the path
    HOME = "home"  # a scene a day: a ballot from each seat until the vote closes


class Phase(StrEnum):
    """Where a telling stands."""

    TELLING = "telling"  # the scene is up, and its line is read
    VOTING = "voting"
    QUESTION = "question"  # the vote settled nothing
    CHOSEN = "chosen"  # the path is known, and nobody went it yet
    ENDED = "ended"


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """The story begins. At home votes close at `closes`, local time, and need `quorum` ballots."""

    venue: Venue
    on: date
    closes: time = time(20, 0)
    quorum: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class VoteOpened:
    """The paths are put to the class. `closes_at` in UTC, None where the director closes."""

    closes_at: datetime | None = None
    quorum: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class VoteClosed:
    """The vote is over; from here on there are no ballots."""

    outcome: Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The director names the path: what the hands showed, or the answer to an open question."""

    path: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Advanced:
    """On to the scene behind the chosen path."""

    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Paused:
    """Enough for today."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Resumed:
    """On with it."""

    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended:
    """The story is over: at an end of its own, or broken off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """The last call that still holds is taken back."""


Event = Opened | VoteOpened | VoteClosed | Chosen | Advanced | Paused | Resumed | Ended | Undone


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """A scene that was left, and by which path."""

    scene: str
    path: int
    outcome: Outcome | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StoryRun:
    """A telling as it stands. `scene_on` is the local date on which the scene went up.

    `closes` and `quorum` as in `Opened`.
    """

    venue: Venue
    closes: time
    quorum: int
    scene: str
    scene_on: date
    phase: Phase = Phase.TELLING
    paused: bool = False
    vote: VoteOpened | None = None
    outcome: Outcome | None = None
    path: int | None = None
    walked: tuple[Walked, ...] = ()

    @property
    def scenes(self) -> tuple[str, ...]:
        """The scenes that the class has been in, this one last."""
        return (*(step.scene for step in self.walked), self.scene)


def replay(story: Story, events: Iterable[Event]) -> StoryRun | None:
    """Where a journal leads to; None for an empty one."""
    run: StoryRun | None = None
    for event in standing(events):
        run = apply(story, run, event)
    return run


def standing(events: Iterable[Event]) -> tuple[Event, ...]:
    """The events that nobody took back.

    The close of a vote is taken back together with its opening: its ballots are gone for good.
    """
    held: list[Event] = []
    for event in events:
        if not isinstance(event, Undone):
            held.append(event)
        elif len(held) > 1:
            last = held.pop()
            if isinstance(last, VoteClosed) and isinstance(held[-1], VoteOpened):
                held.pop()
    return tuple(held)


def may_undo(events: Iterable[Event]) -> bool:
    """Whether there is a call to be taken back; that a story began is none."""
    return len(standing(events)) > 1


def apply(story: Story, run: StoryRun | None, event: Event) -> StoryRun:
    """The state after an event; Refused("telling.out_of_order") where it does not belong.

    `Undone` is the journal's own and never applied: `replay` leaves out what it takes back.
    """
    if run is None:
        if isinstance(event, Opened):
            return StoryRun(
                venue=event.venue,
                closes=event.closes,
                quorum=event.quorum,
                scene=story.start,
                scene_on=event.on,
            )
        raise _out_of_order(event, "nothing")
    if run.paused and not isinstance(event, Resumed | Ended | VoteClosed):
        raise _out_of_order(event, "paused")
    phase, paths = run.phase, len(scene_of(story, run).paths)
    match event:
        case VoteOpened() if phase is Phase.TELLING and paths:
            return replace(run, phase=Phase.VOTING, vote=event)
        case VoteClosed(outcome=outcome) if phase is Phase.VOTING:
            settled = Phase.QUESTION if outcome.winner is None else Phase.CHOSEN
            return replace(run, phase=settled, outcome=outcome, path=outcome.winner, vote=None)
        case Chosen(path=path) if _may_choose(run) and 0 <= path < paths:
            return replace(run, phase=Phase.CHOSEN, path=path, vote=None)
        case Advanced(on=on) if phase is Phase.CHOSEN and run.path is not None:
            left = Walked(scene=run.scene, path=run.path, outcome=run.outcome)
            return StoryRun(
                venue=run.venue,
                closes=run.closes,
                quorum=run.quorum,
                scene=scene_of(story, run).paths[run.path].next,
                scene_on=on,
                walked=(*run.walked, left),
            )
        case Paused() if phase is not Phase.ENDED and not run.paused:
            return replace(run, paused=True)
        case Resumed(on=on) if run.paused:
            return replace(run, paused=False, scene_on=on)
        case Ended() if phase is not Phase.ENDED:
            return replace(run, phase=Phase.ENDED, paused=False, vote=None)
        case (
            Opened() | VoteOpened() | VoteClosed() | Chosen() | Advanced() | Paused() | Resumed()
            | Ended() | Undone()
        ):  # fmt: skip
            raise _out_of_order(event, phase)
    assert_never(event)


def _may_choose(run: StoryRun) -> bool:
    """In class the director may always tap; at home the vote comes first."""
    if run.phase is Phase.QUESTION:
        return True
    return run.venue is Venue.CLASS and run.phase in (Phase.TELLING, Phase.VOTING, Phase.CHOSEN)


def _out_of_order(event: Event, where: str) -> Refused:
    return Refused("telling.out_of_order", event=type(event).__name__, phase=where)


def scene_of(story: Story, run: StoryRun) -> Scene:
    """The scene that is up."""
    return story.scene(run.scene)


class Effect(StrEnum):
    """What a change asks of the world."""

    SHOW_SCENE = "show scene"
    COLLECT = "collect ballots"
    DROP_BALLOTS = "drop ballots"
    SHOW_OUTCOME = "show outcome"
    ASK_DIRECTOR = "ask director"
    TAKE_DOWN = "take down"


def announce(before: StoryRun | None, after: StoryRun) -> tuple[Effect, ...]:
    """What has to be done because the state changed; nothing for a state that did not."""
    effects: list[Effect] = []
    if before is None or (before.scene, before.walked) != (after.scene, after.walked):
        effects.append(Effect.SHOW_SCENE)
    was_voting = before is not None and before.phase is Phase.VOTING
    if was_voting and after.phase is not Phase.VOTING:
        effects.append(Effect.DROP_BALLOTS)
    if before is None or before.phase is after.phase:
        return tuple(effects)
    match after.phase:
        case Phase.VOTING:
            effects.append(Effect.COLLECT)
        case Phase.QUESTION:
            effects.append(Effect.ASK_DIRECTOR)
        case Phase.CHOSEN:
            effects.append(Effect.SHOW_OUTCOME)
        case Phase.ENDED:
            effects.append(Effect.TAKE_DOWN)
        case Phase.TELLING:
            pass
        case _:
            assert_never(after.phase)
    return tuple(effects)
