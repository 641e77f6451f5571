"""What Discord is sent of a mystery tune before it is told: four names alike, no more of it."""

import json

from bot.service.tune_book import called
from tests.chat.discord.test_playful import _told, before, lark, say
from tests.standin.person import finished

__all__ = ["before", "lark", "say"]


async def test_nothing_that_is_sent_of_a_tune_tells_which_of_its_names_is_right(
    stage, before, surface, lark
):
    told = await _told(lark, stage, "/read tune")
    tune, sent = before.tune, json.dumps(told.body, ensure_ascii=False, default=str)
    rest = sent.replace(json.dumps(called(tune), ensure_ascii=False)[1:-1], "")
    for giving_away in (tune.title, tune.history[:40], *tune.also, f'"{tune.id}"'):
        assert giving_away not in rest
        assert not any(giving_away in name for name in told.files)
    assert {name.partition("-")[0] for name in told.files} <= {
        "key",
        "start",
        "line",
    }  # not "heard"
    own = {"label", "custom_id", "id"}  # the service numbers what it shows
    buttons = [
        {name: value for name, value in button.items() if name not in own}
        for button in told.buttons
    ]
    assert all(button == buttons[0] for button in buttons)
    assert len({len(button["custom_id"]) for button in told.buttons}) == 1


async def test_a_wrong_name_is_answered_without_the_right_one(stage, before, surface, lark):
    told = await _told(lark, stage, "/read tune")
    answer = await finished(await lark.press(told, called(before.tunes[0])))
    assert called(before.tune) not in str(answer.body)
    assert before.tune.history[:40] not in str(answer.body)
