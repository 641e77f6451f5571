"""Faults on demand: what goes wrong, at which route, how often."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What happens to a request. BEFORE: nothing is stored. AFTER: it is stored all the same."""

    LIMITED = "429"
    LIMITED_EVERYWHERE = "429 global"
    BANNED = "429 without Via"
    ERROR_BEFORE = "5xx before"
    ERROR_AFTER = "5xx after"
    RESET_BEFORE = "reset before"
    RESET_AFTER = "reset after"
    SLOW_BEFORE = "slow before"
    SLOW_AFTER = "slow after"


@dataclass(kw_only=True)
class Fault:
    """One fault, used up after `times` requests of its route. `value`: a status, or seconds."""

    kind: Kind
    method: str = "POST"
    template: str = "/channels/{channel_id}/messages"
    times: int = 1
    value: float = 502


class Faults:
    """The faults that wait for their requests, in the order in which they were set."""

    def __init__(self) -> None:
        self._waiting: list[Fault] = []

    def add(self, fault: Fault) -> None:
        """Let this fault happen to the next requests of its route."""
        self._waiting.append(fault)

    def next_for(self, method: str, template: str) -> Fault | None:
        """The fault that this request draws, which is then used up once."""
        for fault in self._waiting:
            if fault.method == method and fault.template == template and fault.times > 0:
                fault.times -= 1
                return fault
        return None

    @property
    def left(self) -> list[Fault]:
        """Faults that no request has drawn yet."""
        return [fault for fault in self._waiting if fault.times > 0]
