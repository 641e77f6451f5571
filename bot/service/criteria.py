"""Published reading criteria: which there are, a line inside one, where music differs from one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from bot.errors import Fault, InputProblems
from bot.music.criteria import Criteria, Reads, Task
from bot.music.criteria_check import Asks, Difference, differences, nearest
from bot.music.criteria_lines import compose_inside
from bot.music.exercise import Exercise
from bot.music.pitch import Key
from bot.music.voice import Voice
from bot.service.content import Content
from bot.service.plain_words import spoken_rhythm, spoken_tones, with_places
from bot.wording import Wording

_OF_RHYTHM = (Asks.VALUE, Asks.GROUP)
_ITS_OWN_PLACE = (Asks.ALIKE, Asks.PICKUP)


@dataclass(frozen=True, slots=True, kw_only=True)
class CriteriaFindings:
    """How music stands to one reading of a criterion, in sentences.

    `held` says which reading, `differences` each difference by measure and beat, `notes` where the
    text comes from, what it left open, and that the official page decides.
    """

    held: str
    differences: tuple[str, ...]
    notes: tuple[str, ...]


def find_criteria(name: str, content: Content) -> tuple[Criteria, Task | None]:
    """A criterion by its id, and the reading that follows a slash; InputProblems names all."""
    criteria_id, slash, task_id = name.partition("/")
    criteria = content.criteria.get(criteria_id)
    if criteria is None:
        remedy = "one of " + ", ".join(content.criteria)
        raise InputProblems([Fault(place=name or "''", problem="no such criteria", remedy=remedy)])
    return criteria, criteria.task(task_id) if slash else None


def reads_rhythm(name: str, content: Content) -> bool:
    """Whether a criterion's reading, its first where none is named, is of rhythm alone."""
    criteria, task = find_criteria(name, content)
    return (task or criteria.tasks[0]).reads is Reads.RHYTHM


def compose_to_criteria(
    name: str, content: Content, voice: Voice, *, key: str | None, seed: int, sequence: str
) -> Exercise:
    """A line inside a criterion's reading, its first where none is named; NoExercise says why not.

    InputProblems where the criterion, the reading or the key is unknown.
    """
    criteria, task = find_criteria(name, content)
    wished = None
    if key is not None:
        try:
            wished = Key.parse(key)
        except ValueError as error:
            raise InputProblems([Fault(place="--key", problem=str(error))]) from error
    order = content.sequences[sequence]
    return compose_inside(criteria, task or criteria.tasks[0], order, voice, key=wished, seed=seed)


def held_against(
    exercise: Exercise, name: str, content: Content, voice: Voice | None
) -> CriteriaFindings:
    """Music beside a criterion: the reading that is named, or the one that it differs least from.

    InputProblems where the criterion or the reading is unknown.
    """
    criteria, task = find_criteria(name, content)
    say = content.wording
    if task is None:
        task, found = nearest(exercise, criteria, voice)
    else:
        found = differences(exercise, criteria, task, voice)
    told = tuple(_sentences(found, say))
    if found:
        held = say(
            "criteria.differs_from", title=criteria.title, reading=task.name, count=len(told)
        )
    else:
        held = say("criteria.conforms", title=criteria.title, reading=task.name)
    return CriteriaFindings(
        held=held,
        differences=told,
        notes=tuple(notes_on(criteria, say)),
    )


def reading_title(criteria: Criteria, task: Task, say: Wording) -> str:
    """What a line inside a published reading is called on its card."""
    return say("criteria.title", title=criteria.title, reading=task.name)


def study_seconds(title: str | None, content: Content) -> int | None:
    """How long the published reading of that title lets a singer study it; None for another one.

    None too where its text does not say.
    """
    for criteria in content.criteria.values():
        for task in criteria.tasks:
            if title == reading_title(criteria, task, content.wording):
                return criteria.study_s
    return None


def notes_on(criteria: Criteria, say: Wording) -> Iterator[str]:
    """Study time, what the text left open, its source and date, and who decides."""
    if criteria.study_s is None:
        yield say("criteria.no_study")
    else:
        yield say("criteria.study", count=criteria.study_s)
    yield from criteria.open
    yield say(
        "criteria.source",
        source=criteria.source,
        dated=criteria.dated,
        read_on=say.date(criteria.read_on, "MMMM d, y"),
    )
    yield say("criteria.official", body=criteria.body)


def _sentences(found: Iterable[Difference], say: Wording) -> Iterator[str]:
    """Each difference once, with its places; a measure that should come back is its own place."""
    alike: dict[tuple[Asks, str, str], list[Difference]] = {}
    for each in found:
        alike.setdefault((each.asks, each.what, each.asked), []).append(each)
    for (asks, what, asked), same in alike.items():
        spoken = spoken_rhythm if asks in _OF_RHYTHM else spoken_tones
        words = say(asks, what=spoken(what, say), asked=spoken(asked, say))
        places = [(each.measure, each.beat) for each in same]
        yield words if asks in _ITS_OWN_PLACE else with_places(words, places, say)


def listed(found: Iterable[Criteria], say: Wording) -> Iterator[str]:
    """One line for each reading, with the name that the commands take."""
    for criteria in found:
        for task in criteria.tasks:
            name = f"{criteria.id}/{task.id}"
            yield say("criteria.list", name=name, title=criteria.title, reading=task.name)


def criteria_choices(content: Content) -> list[tuple[str, str, str]]:
    """Every reading as (name that `find_criteria` takes, title, what it is)."""
    return [
        (f"{criteria.id}/{task.id}", criteria.title, task.name)
        for criteria in content.criteria.values()
        for task in criteria.tasks
    ]
