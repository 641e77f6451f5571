"""A plan in words: why a day has what it has, today's on the desk, a week on the command line."""

from __future__ import annotations

from datetime import date

from bot.activities.rotation import PlanDay, Why
from bot.errors import Refused
from bot.service.plans import Plan
from bot.wording import Wording


def refusal_words(say: Wording, refused: Refused) -> str:
    """A refusal with its dates in words."""
    values = {
        name: say.date(value, "EEE, MMM d") if isinstance(value, date) else value
        for name, value in refused.values.items()
    }
    return say(refused.key, **values)


def why_words(say: Wording, day: PlanDay) -> str:
    """Why a day has what it has."""
    if day.why is Why.UNUSED:
        return say("plan.why.unused", count=day.weeks)
    return say(f"plan.why.{day.why}", count=day.weeks)


def todays_plan(say: Wording, plan: Plan) -> str | None:
    """What today reads; None on a day without a meeting."""
    day = next((day for day in plan.days if day.on == plan.today), None)
    if day is None:
        return None
    return say(
        "plan.today",
        kind=say(f"plan.kind.{day.kind}"),
        minutes=day.load.minutes,
        why=why_words(say, day),
    )


def plan_lines(say: Wording, plan: Plan) -> list[str]:
    """A plan as lines of text, for the command line."""
    return [
        say(
            "plan.line",
            day=say.date(day.on, "EEE, MMM d"),
            kind=say(f"plan.kind.{day.kind}"),
            read=day.load.read,
            minutes=day.load.minutes,
            why=why_words(say, day),
        )
        for day in plan.days
    ]
