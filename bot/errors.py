"""The whole error tree.

    RiserbellError
      InputProblems        faults in what a person gave: all at once, each with its place
      Refused              a wish that a rule forbids; carries the wording key and its values
        NoExercise         no exercise can satisfy step, voice and key; names the rule
      NotAllowedToKeep     a value that the register or the approval does not let us store
      SettingsProblem      the program cannot start or go on as it is set up
      RenderFailed         a picture, sound or clip could not be made
      SurfaceUnavailable   a surface cannot be reached just now; the service may try again

Adapters turn library errors into these at the border (`raise ... from`). Messages name the thing
and the bad value, never a person.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class RiserbellError(Exception):
    """Anything that Riserbell itself reports."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong at one place.

    `place` is what a person can find: `file:line`, `measure 3, beat 2`, or a form field's name.
    """

    place: str
    problem: str
    remedy: str = ""

    def __str__(self) -> str:
        text = f"{self.place}: {self.problem}" if self.place else self.problem
        return f"{text} ({self.remedy})" if self.remedy else text


class InputProblems(RiserbellError):
    """Faults in a file, a form or a command line; `faults` holds every one that was found."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class Refused(RiserbellError):
    """A wish that a rule forbids. `key` is a wording key, `values` fill its gaps."""

    def __init__(self, key: str, **values: object) -> None:
        self.key = key
        self.values = values
        shown = ", ".join(f"{name}={value}" for name, value in values.items())
        super().__init__(f"{key}({shown})" if shown else key)


class NoExercise(Refused):
    """No exercise satisfies what was asked for; `key` names the rule that forbids it."""


class NotAllowedToKeep(RiserbellError):
    """A table, column or value outside the register of fields or the approval."""


class SettingsProblem(RiserbellError):
    """The program cannot start or go on as it is set up; the message says what to change."""


class RenderFailed(RiserbellError):
    """A picture, sound or clip could not be made."""


class SurfaceUnavailable(RiserbellError):
    """A surface cannot be reached just now."""
