"""What a changed calendar changes about days that are over."""

from __future__ import annotations

from datetime import date, timedelta

from bot.activities.calendar import Meeting, meets

RECKONED_BACK = timedelta(days=14)


def still_missed(meeting: Meeting, on: date, today: date) -> bool:
    """Whether a day on which nothing was posted still counts as missed.

    A day that the calendar has taken away since was never to be read. Only the last 14 days are
    reckoned anew, so that what was told about older ones stays told.
    """
    return today - on > RECKONED_BACK or meets(meeting, on)
