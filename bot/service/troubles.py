"""What went wrong lately, by choir, until it goes well: shown on the status page, kept in memory.

After a restart the same trouble shows itself again, so nothing has to be stored.
"""

from __future__ import annotations

from bot.errors import InputProblems, Refused, RenderFailed, SurfaceUnavailable
from bot.wording import Wording


class Troubles:
    """The last failure of each task of each choir."""

    def __init__(self) -> None:
        self._last: dict[tuple[str, str], Exception] = {}

    def note(self, choir_id: str, task: str, error: Exception) -> bool:
        """Keep a failure; whether it is news (the same kind was not there before)."""
        before = self._last.get((choir_id, task))
        self._last[choir_id, task] = error
        return before is None or repr(before) != repr(error)

    def clear(self, choir_id: str, task: str) -> None:
        """The task went well."""
        self._last.pop((choir_id, task), None)

    def forget_refusals(self, choir_id: str) -> None:
        """The choir is another one now: what was refused is refused anew, or not at all."""
        for (choir, task), error in list(self._last.items()):
            if choir == choir_id and isinstance(error, Refused | InputProblems):
                self.clear(choir, task)

    def last(self, choir_id: str, task: str) -> Exception | None:
        """The failure of one task, None where it went well."""
        return self._last.get((choir_id, task))

    def of(self, choir_id: str, wording: Wording) -> str | None:
        """A sentence for the director about a choir's trouble, None where all is well."""
        found = [error for (choir, _), error in self._last.items() if choir == choir_id]
        return None if not found else sentence(found[0], wording)


def sentence(error: Exception, wording: Wording) -> str:
    """What to tell the director; an error that nobody foresaw gets a general sentence."""
    match error:
        case Refused(key=key, values=values) if wording.has(key):
            return wording(key, **values)
        case InputProblems(faults=faults):
            return "; ".join(str(fault) for fault in faults)
        case SurfaceUnavailable() | TimeoutError():
            return wording("status.unavailable")
        case RenderFailed():
            return wording("status.render_failed")
        case _:
            return wording("status.unforeseen", kind=type(error).__name__)
