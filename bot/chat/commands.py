"""The one table of commands: Discord registers it, the manual prints it.

A command stands here once it does something. Every answer is private.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bot.wording import Wording


class Who(StrEnum):
    """Who may use a command; checked by the bot itself, whatever the chat shows."""

    ANYONE = "anyone"  # everybody in the choir's channel
    DIRECTOR = "director"  # members with the director's role
    MANAGER = "manager"  # members who may manage the server


class Kind(StrEnum):
    """What an option takes."""

    TEXT = "text"
    PART = "part"  # one of the choir's parts, offered while typing
    WAY = "way"  # one of the ways to read the line, offered while typing
    DAY = "day"  # one of the coming meeting days, offered while typing
    ROLE = "role"  # one of the server's roles
    NUMBER = "number"  # a whole number


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One value that a command takes; `describe` is a wording key."""

    name: str
    describe: str
    kind: Kind
    required: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One command, `/group name` or `/name`; `describe` is a wording key."""

    name: str
    describe: str
    group: str | None = None
    who: Who = Who.ANYONE
    options: tuple[Option, ...] = ()

    @property
    def line(self) -> str:
        """As it is typed, without options."""
        return f"/{self.group} {self.name}" if self.group else f"/{self.name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Commands under one word. `director` hides it from others where the chat can do that."""

    name: str
    describe: str
    director: bool = False


READ = Group(name="read", describe="command.read")
MY = Group(name="my", describe="command.my")
DESK = Group(name="desk", describe="command.desk", director=True)
GROUPS = (READ, MY, DESK)

_PART = Option(name="part", describe="command.option_part", kind=Kind.PART)
_ANY_PART = Option(name="part", describe="command.option_any_part", kind=Kind.PART, required=False)
_WAY = Option(name="way", describe="command.option_way", kind=Kind.WAY)
_BEATS = Option(name="beats", describe="command.option_beats", kind=Kind.NUMBER, required=False)
_DAY = Option(name="day", describe="command.option_day", kind=Kind.DAY, required=False)

ABOUT = Command(name="about", describe="command.about")
READ_TODAY = Command(group=READ.name, name="today", describe="command.read_today")
READ_PART = Command(group=READ.name, name="part", describe="command.read_part", options=(_PART,))
READ_KEY = Command(group=READ.name, name="key", describe="command.read_key")
READ_FILM = Command(
    group=READ.name, name="film", describe="command.read_film", options=(_ANY_PART,)
)
READ_WAY = Command(
    group=READ.name, name="way", describe="command.read_way", options=(_WAY, _ANY_PART)
)
READ_TUNE = Command(group=READ.name, name="tune", describe="command.read_tune")
READ_SCORE = Command(group=READ.name, name="score", describe="command.read_score")
MY_ROW = Command(group=MY.name, name="row", describe="command.my_row")
MY_DATA = Command(group=MY.name, name="data", describe="command.my_data")
MY_SPAN = Command(group=MY.name, name="span", describe="command.my_span", options=(_BEATS,))
MY_LEAVE = Command(group=MY.name, name="leave", describe="command.my_leave")
DESK_PREVIEW = Command(
    group=DESK.name,
    name="preview",
    describe="command.desk_preview",
    who=Who.DIRECTOR,
    options=(_DAY,),
)
DESK_REDRAW = Command(
    group=DESK.name,
    name="redraw",
    describe="command.desk_redraw",
    who=Who.DIRECTOR,
    options=(_DAY,),
)
DESK_POST = Command(group=DESK.name, name="post", describe="command.desk_post", who=Who.DIRECTOR)
DESK_PLAN = Command(group=DESK.name, name="plan", describe="command.desk_plan", who=Who.DIRECTOR)
DESK_STATUS = Command(
    group=DESK.name, name="status", describe="command.desk_status", who=Who.DIRECTOR
)
DESK_LINK = Command(
    group=DESK.name,
    name="link",
    describe="command.desk_link",
    who=Who.MANAGER,
    options=(
        Option(name="code", describe="command.option_code", kind=Kind.TEXT),
        Option(name="role", describe="command.option_role", kind=Kind.ROLE),
    ),
)

COMMANDS = (
    ABOUT,
    READ_TODAY,
    READ_PART,
    READ_KEY,
    READ_FILM,
    READ_WAY,
    READ_TUNE,
    READ_SCORE,
    MY_ROW,
    MY_DATA,
    MY_SPAN,
    MY_LEAVE,
    DESK_PREVIEW,
    DESK_REDRAW,
    DESK_POST,
    DESK_PLAN,
    DESK_STATUS,
    DESK_LINK,
)


def manual(say: Wording) -> str:
    """The commands as a Markdown table for the manual."""
    rows = [
        f"| `{_typed(command)}` | {_who(command.who, say)} | {say(command.describe)} |"
        for command in COMMANDS
    ]
    head = (
        f"| {say('command.head_line')} | {say('command.head_who')} | {say('command.head_what')} |"
    )
    return "\n".join([head, "|---|---|---|", *rows])


def _typed(command: Command) -> str:
    options = [
        f"{option.name}:" if option.required else f"[{option.name}:]" for option in command.options
    ]
    return " ".join([command.line, *options])


def _who(who: Who, say: Wording) -> str:
    match who:
        case Who.ANYONE:
            return say("command.who_anyone")
        case Who.DIRECTOR:
            return say("command.who_director")
        case Who.MANAGER:
            return say("command.who_manager")
