"""The set-up form of a choir: text fields in, one choir or every fault at once out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from bot.activities.choir import Choir
from bot.service.content import Content

Form = Mapping[str, Sequence[str]]


def parse_choir_form(form: Form, content: Content, *, choir_id: str, today: date) -> Choir:
    """Read the form's fields; InputProblems names each faulty field as its place.

    Only `name`, `voices` and one step are needed; everything else has a default.
    """
    raise NotImplementedError


def form_of(choir: Choir) -> dict[str, list[str]]:
    """The fields that `parse_choir_form` reads back as this very choir."""
    raise NotImplementedError
