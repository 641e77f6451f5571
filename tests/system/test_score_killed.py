"""A real process, killed while the score of a match goes up or is changed, and started again."""

from __future__ import annotations

import asyncio
import sqlite3
from contextlib import closing
from datetime import timedelta

import pytest

from bot.activities.match_call import Call
from bot.activities.match_rules import CardWhen, Rules
from bot.store.folder import DATABASE
from tests.fakes.choirs import MONDAY
from tests.fakes.clock import FakeClock
from tests.fakes.matches import plant_match
from tests.fakes.world import open_world
from tests.standin.library import until
from tests.standin.server import Discord, Phase
from tests.standin.world import NONCE_WINDOW_S
from tests.system.discord_class import CHOIR, due, set_up
from tests.system.test_discord_killed import lives_on

_MESSAGES = "/channels/{channel_id}/messages"
TURN = ("study", "read", "phrase-2", "phrase-2", "on", "thrown-1")
JOINT = ("study", "read", "phrase-2", "phrase-1")
BEFORE = timedelta(hours=2)
END = "Left page 8, Right page 8. Well read, both pages."
# Before the match's end is called the process dies here, and here again as the end is told.
POINTS = {
    "on its way": (Phase.ARRIVED, 0.0),
    "stored and not answered": (Phase.STORED, 0.0),
    "answered": (Phase.ANSWERED, 0.0),
    "a moment after the answer": (Phase.ANSWERED, 0.01),
}


class Score:
    """One match of the choir, called while no process lives; its card in the channel."""

    def __init__(self, folder, discord, singers):
        self.folder, self.discord, self.channel = folder, discord, singers.channel
        self.match_id = ""

    async def call(self, *calls):
        async with open_world(self.folder, FakeClock(due(MONDAY) - BEFORE)) as world:
            if not self.match_id:
                rules = Rules(card=CardWhen.TURNS)
                self.match_id = await plant_match(world.database, rules, choir_id=CHOIR.id)
            seen = (await world.services.matches.find(self.match_id)).revision
            for number, text in enumerate(calls):
                await world.services.matches.call(self.match_id, Call.parse(text), seen + number)

    def watch(self, method, lives, point):
        """Let the process die at a point of the score's message, or of its change."""
        phase, later = POINTS[point]

        def look(seen, how_far):
            template = _MESSAGES if method == "POST" else f"{_MESSAGES}/{{message_id}}"
            if (seen.method, seen.template, how_far) != (method, template, phase):
                return
            self.discord.watch = lambda *_: None
            if later:
                asyncio.get_running_loop().call_later(later, lives.kill)
            else:
                lives.kill()

        self.discord.watch = look

    @property
    def cards(self):
        return [
            one
            for one in self.discord.world.public_messages(self.channel.id)
            if one.embed["title"].endswith("· Match")
        ]

    def told(self):
        """What the database says of the card."""
        path = f"file:{self.folder / DATABASE}?mode=ro"
        try:
            with closing(sqlite3.connect(path, uri=True, timeout=5)) as file:
                return file.execute("SELECT told FROM match_cards").fetchall()
        except sqlite3.OperationalError:
            return []  # a write was cut off; the next life takes it back


pytestmark = pytest.mark.long


@pytest.mark.parametrize("late", [False, True], ids=["soon", "late"])
@pytest.mark.parametrize("point", POINTS)
async def test_killed_between_sending_and_recording_the_score_is_up_once_and_right(
    tmp_path, point, late
):
    await _die_twice(tmp_path, point, late=late)


async def _die_twice(folder, point, *, late):
    async with Discord() as discord:
        score = Score(folder, discord, await set_up(folder, discord))
        discord.limits.switched_on = False
        async with lives_on(folder, discord) as lives:
            at = due(MONDAY) - BEFORE  # so that the day's line is not due yet
            await score.call(*TURN)
            for method in ("POST", "PATCH"):
                score.watch(method, lives, point)
                await lives.begin(at)
                await lives.until_dead()
                if method == "POST":
                    await score.call(*TURN, *JOINT)
                if late:
                    discord.clock.skip(NONCE_WINDOW_S + 1)
                at += timedelta(minutes=20 if late else 0, seconds=10)
            await lives.begin(at)
            await until(lambda: score.told() == [("ended 8 8",)], 30)
            lives.kill()

        assert [one.embed["description"] for one in score.cards] == [END]
        assert discord.violations == []
