"""What is said about a story that is told: how the class came here, how the vote stands. Pure."""

from __future__ import annotations

from bot.activities.calendar import in_zone
from bot.activities.choir import Choir
from bot.activities.story_run import Phase
from bot.activities.vote import Outcome
from bot.service.tellings import Told
from bot.wording import Wording


def outcome_words(outcome: Outcome | None, say: Wording) -> str:
    """What may be said of a vote whose counts are not told."""
    if outcome is None or outcome.margin is None:
        return ""
    return say(f"telling.margin.{outcome.margin}")


def came_by(told: Told, say: Wording) -> str:
    """How the class came to the scene that is up; empty at the start."""
    if not told.run.walked:
        return ""
    step = told.run.walked[-1]
    path = told.music.story.scene(step.scene).paths[step.path]
    words = [say("telling.came_by", path=path.label)]
    if step.outcome is not None and step.outcome.counts is not None:
        counts = ", ".join(str(count) for count in step.outcome.counts)
        words.append(say("telling.counts", counts=counts))
    return " ".join([*words, outcome_words(step.outcome, say)]).strip()


def story_state(told: Told, choir: Choir, say: Wording) -> str:
    """How the vote of the scene stands, in a sentence."""
    run = told.run
    if run.paused:
        return say("telling.state.paused")
    if told.scene.ending:
        return say("telling.state.end")
    match run.phase:
        case Phase.VOTING if run.vote is not None and run.vote.closes_at is not None:
            at = in_zone(run.vote.closes_at, choir.zone).timetz().replace(tzinfo=None)
            return say("telling.state.open", time=say.time(at))
        case Phase.QUESTION:
            return say("telling.state.question")
        case Phase.CHOSEN:
            outcome = outcome_words(run.outcome, say)
            return " ".join([say("telling.state.chosen"), outcome]).strip()
        case _:
            return say("telling.state.comes")
