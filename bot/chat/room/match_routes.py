"""Every address of the match, of the plan and of the pace."""

from __future__ import annotations

from bot.chat.room import match_desk, match_rules_desk, match_stage, pace_desk, plan_desk
from bot.chat.room.safety import Handler

_CHOIR = "{choir:[A-Za-z0-9_-]{1,64}}"
_MATCH = f"/stage/{_CHOIR}/match/{{match:[a-z0-9-]{{1,64}}}}"

OPEN_PAGES: tuple[tuple[str, Handler], ...] = (
    (f"{_MATCH}/state", match_stage.state),
    (f"{_MATCH}/line/{{reading:[A-Za-z0-9_-]{{1,64}}}}", match_stage.line),
    (f"{_MATCH}/live", match_stage.live),
)

OPEN_CHANGES: tuple[tuple[str, Handler], ...] = ((f"{_MATCH}/call", match_stage.call),)

DESK_PAGES: tuple[tuple[str, Handler], ...] = (
    (f"/stage/{_CHOIR}/match", match_stage.stage),
    (f"/desk/choir/{_CHOIR}/match", match_desk.form),
    (f"/desk/choir/{_CHOIR}/match/rules", match_rules_desk.form),
    (f"/desk/choir/{_CHOIR}/match/rules.toml", match_rules_desk.file),
    (f"/desk/choir/{_CHOIR}/referee", match_stage.referee),
    (f"/desk/choir/{_CHOIR}/plan", plan_desk.page),
    (f"/desk/choir/{_CHOIR}/pace", pace_desk.page),
)

DESK_CHANGES: tuple[tuple[str, Handler], ...] = (
    (f"/desk/choir/{_CHOIR}/match", match_desk.set_up),
    (f"/desk/choir/{_CHOIR}/match/rules", match_rules_desk.keep),
    (f"/desk/choir/{_CHOIR}/match/rules/back", match_rules_desk.back),
    (f"/desk/choir/{_CHOIR}/match/rules/file", match_rules_desk.take),
    (f"/desk/choir/{_CHOIR}/plan", plan_desk.keep),
    (f"/desk/choir/{_CHOIR}/plan/again", plan_desk.again),
    (f"/desk/choir/{_CHOIR}/plan/tune", plan_desk.begin_tune),
    (f"/desk/choir/{_CHOIR}/pace", pace_desk.move),
)
