"""What a choir plays its matches by: its own rules before the house's file, that before ours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bot.activities.match_rules import Rules
from bot.activities.match_rules_file import parse_rules, write_rules
from bot.service.content import Content
from bot.service.match_rules_form import read_rules
from bot.store import match_rules as rows
from bot.store.database import Database


class MatchHouse:
    """The rules of every choir. A match that has begun asks nothing here: it keeps its own."""

    def __init__(self, database: Database, content: Content) -> None:
        self._database = database
        self._content = content

    @property
    def usual(self) -> Rules:
        """What a choir plays by that keeps no rules of its own: ours under the house's file."""
        return self._content.match_rules

    async def own(self, choir_id: str) -> Rules | None:
        """The rules that the desk keeps for a choir; None where it has none of its own."""
        async with self._database.snapshot() as read:
            return await rows.own_rules(read, choir_id)

    async def of(self, choir_id: str) -> Rules:
        """What the choir's next match is played by."""
        return await self.own(choir_id) or self.usual

    async def keep(self, choir_id: str, form: Mapping[str, Sequence[str]]) -> Rules:
        """Keep what a form says as the choir's own; InputProblems with the fields' names."""
        return await self._keep(choir_id, read_rules(form, self._content.wording, self.usual))

    async def take(self, choir_id: str, text: str, file: str) -> Rules:
        """Keep what a file says as the choir's own; the usual values where it says nothing.

        InputProblems with every fault as `file:line`.
        """
        usual = self._content.wording("match.rules.usual_file")
        texts = ((self.file(self.usual), usual), (text, file))
        return await self._keep(choir_id, parse_rules(texts))

    async def back(self, choir_id: str) -> None:
        """Let go of a choir's own rules: it plays by the usual ones again."""
        async with self._database.transaction() as change:
            await rows.drop_rules(change, choir_id)

    async def _keep(self, choir_id: str, rules: Rules) -> Rules:
        async with self._database.transaction() as change:
            await rows.keep_rules(change, choir_id, rules)
        return rules

    def file(self, rules: Rules) -> str:
        """Rules as the documented file, to be kept or put into another house's data folder."""
        return write_rules(rules, self._content.match_file)
