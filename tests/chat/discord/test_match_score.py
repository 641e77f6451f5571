"""The score of a match as a card on Discord: both pages, nobody's name."""

from dataclasses import dataclass, replace

import pytest

from bot.service.match_values import MatchSum
from tests.chat.discord.stage import ON
from tests.standin.person import finished


@dataclass
class TodaysMatch:
    """The service's answer, as a test wants it."""

    score: MatchSum | None

    async def score_today(self, choir_id: str) -> MatchSum | None:
        return self.score if choir_id == "c1" else None


def a_score(**changes: object) -> MatchSum:
    score = MatchSum(
        id="m1",
        on=ON,
        number=3,
        ended=False,
        left_name="Left page",
        right_name="Right page",
        left=12,
        right=9,
    )
    return replace(score, **changes)


async def told(stage, line="/read score"):
    person = stage.person("lark")
    async with stage.connected():
        message = await finished(await person.run(stage.channel, line, allowed=True))
    assert message.only_for == person.user.id
    return message.embed


@pytest.mark.parametrize(
    ("ended", "line"),
    [
        (False, "Left page 12, Right page 9, and it goes on."),
        (True, "Left page 12, Right page 9. Well read, both pages."),
    ],
)
async def test_the_score_of_today_is_told_by_pages(stage, ended, line):
    stage.services = replace(stage.services, matches=TodaysMatch(a_score(ended=ended)))
    card = await told(stage)
    assert card["title"].endswith("· Match")
    assert card["description"] == line


async def test_without_a_match_today_it_says_so(stage, wording):
    stage.services = replace(stage.services, matches=TodaysMatch(None))
    assert (await told(stage))["description"] == wording("match.none_today")
