"""The privacy policy that whoever registers the bot owes its users, printed from the register."""

from __future__ import annotations

from dataclasses import dataclass

from bot.privacy.approval import Sheet
from bot.privacy.fields import REGISTER, Field, Kind
from bot.wording import Wording

_BLANK = "__________"  # for the school to fill in
_OF_THE_PLACE = ("discord_links", "discord_link_codes", "discord_app")


@dataclass(frozen=True, slots=True, kw_only=True)
class PolicyPart:
    """A heading with paragraphs, and the fields that it speaks of."""

    heading: str
    paragraphs: tuple[str, ...]
    fields: tuple[Field, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """The whole text; `heads` are the heads of every table of fields."""

    title: str
    heads: tuple[str, ...]
    parts: tuple[PolicyPart, ...]


def policy(say: Wording, sheet: Sheet | None = None) -> Policy:
    """The policy, with the names of a signed sheet where there is one, else with blanks."""
    school = _BLANK if sheet is None else sheet.school
    rights = _BLANK if sheet is None else sheet.rights_contact
    breach = _BLANK if sheet is None else sheet.breach_contact
    seats = tuple(
        field
        for field in REGISTER.values()
        if field.kind is Kind.SEAT and (sheet is None or field.name in sheet.fields)
    )
    place = tuple(field for field in REGISTER.values() if field.table in _OF_THE_PLACE)
    return Policy(
        title=say("policy.title", school=school),
        heads=(
            say("notice.field"),
            say("notice.purpose"),
            say("notice.seen_by"),
            say("notice.kept"),
            say("notice.goes"),
        ),
        parts=(
            PolicyPart(
                heading=say("policy.who"),
                paragraphs=(say("policy.run_by", school=school), say("discord.age_limit")),
            ),
            PolicyPart(
                heading=say("policy.what"),
                paragraphs=(say("policy.does"), say("policy.asks"), say("policy.never")),
            ),
            PolicyPart(
                heading=say("policy.place"), paragraphs=(say("policy.place_lead"),), fields=place
            ),
            PolicyPart(
                heading=say("policy.seats"), paragraphs=(say("policy.seats_lead"),), fields=seats
            ),
            PolicyPart(
                heading=say("policy.rights"),
                paragraphs=(
                    say("policy.leave"),
                    say("policy.ask", contact=rights),
                    say("policy.breach", contact=breach),
                ),
            ),
        ),
    )


def as_markdown(text: Policy) -> str:
    """The policy as a page for the school's site."""
    lines = [f"# {text.title}", ""]
    for part in text.parts:
        lines += [f"## {part.heading}", ""]
        for paragraph in part.paragraphs:
            lines += [paragraph, ""]
        if part.fields:
            lines += [_row(text.heads), _row(("---",) * len(text.heads))]
            lines += [
                _row((f"`{each.name}`", each.purpose, each.seen_by, each.kept, each.deleted_by))
                for each in part.fields
            ]
            lines.append("")
    return "\n".join(lines)


def _row(cells: tuple[str, ...]) -> str:
    return f"| {' | '.join(cells)} |"
