"""Every example of a recurrence in RFC 5545, section 3.8.5.3, by the dates that stand under it.

Times are dropped, since days are what a choir's calendar is about; rules that come back more than
once a day are passed over by name. A list that goes on for ever is compared up to its last date.
"""

from __future__ import annotations

import re
from calendar import month_name
from collections.abc import Iterator
from datetime import date

import pytest

from bot.service.school_calendar import SchoolCalendar, read_calendar

_MONTHS = list(month_name)[1:]

# DTSTART, the rule, the dates as the RFC lists them; "..." where it goes on for ever.
_WEEKDAYS = "19970902T090000"
EXAMPLES = [
    (_WEEKDAYS, "FREQ=DAILY;COUNT=10", "1997 September 2-11"),
    (
        _WEEKDAYS,
        "FREQ=DAILY;UNTIL=19971224T000000Z",
        "1997 September 2-30; October 1-25; October 26-31; November 1-30; December 1-23",
    ),
    (
        _WEEKDAYS,
        "FREQ=DAILY;INTERVAL=2",
        "1997 September 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30; "
        "October 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30; November 1,3,5,7 ...",
    ),
    (_WEEKDAYS, "FREQ=DAILY;INTERVAL=10;COUNT=5", "1997 September 2,12,22; October 2,12"),
    (
        "19980101T090000",
        "FREQ=YEARLY;UNTIL=20000131T140000Z;BYMONTH=1;BYDAY=SU,MO,TU,WE,TH,FR,SA",
        "1998 January 1-31; 1999 January 1-31; 2000 January 1-31",
    ),
    (
        "19980101T090000",
        "FREQ=DAILY;UNTIL=20000131T140000Z;BYMONTH=1",
        "1998 January 1-31; 1999 January 1-31; 2000 January 1-31",
    ),
    (
        _WEEKDAYS,
        "FREQ=WEEKLY;COUNT=10",
        "1997 September 2,9,16,23,30; October 7,14,21; October 28; November 4",
    ),
    (
        _WEEKDAYS,
        "FREQ=WEEKLY;UNTIL=19971224T000000Z",
        "1997 September 2,9,16,23,30; October 7,14,21,28; November 4,11,18,25; December 2,9,16,23",
    ),
    (
        _WEEKDAYS,
        "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
        "1997 September 2,16,30; October 14,28; November 11,25; December 9,23; "
        "1998 January 6,20; February 3,17 ...",
    ),
    (
        _WEEKDAYS,
        "FREQ=WEEKLY;UNTIL=19971007T000000Z;WKST=SU;BYDAY=TU,TH",
        "1997 September 2,4,9,11,16,18,23,25,30; October 2",
    ),
    (
        _WEEKDAYS,
        "FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH",
        "1997 September 2,4,9,11,16,18,23,25,30; October 2",
    ),
    (
        "19970901T090000",
        "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;BYDAY=MO,WE,FR",
        "1997 September 1,3,5,15,17,19,29; October 1,3,13,15,17,27,29,31; "
        "November 10,12,14,24,26,28; December 8,10,12,22",
    ),
    (
        _WEEKDAYS,
        "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
        "1997 September 2,4,16,18,30; October 2,14,16",
    ),
    (
        "19970905T090000",
        "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        "1997 September 5; October 3; November 7; December 5; "
        "1998 January 2; February 6; March 6; April 3; May 1; June 5",
    ),
    (
        "19970905T090000",
        "FREQ=MONTHLY;UNTIL=19971224T000000Z;BYDAY=1FR",
        "1997 September 5; October 3; November 7; December 5",
    ),
    (
        "19970907T090000",
        "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
        "1997 September 7,28; November 2,30; 1998 January 4,25; March 1,29; May 3,31",
    ),
    (
        "19970922T090000",
        "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
        "1997 September 22; October 20; November 17; December 22; 1998 January 19; February 16",
    ),
    (
        "19970928T090000",
        "FREQ=MONTHLY;BYMONTHDAY=-3",
        "1997 September 28; October 29; November 28; December 29; 1998 January 29; February 26 ...",
    ),
    (
        _WEEKDAYS,
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15",
        "1997 September 2,15; October 2,15; November 2,15; December 2,15; 1998 January 2,15",
    ),
    (
        "19970930T090000",
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
        "1997 September 30; October 1,31; November 1,30; December 1,31; "
        "1998 January 1,31; February 1",
    ),
    (
        "19970910T090000",
        "FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15",
        "1997 September 10,11,12,13,14,15; 1999 March 10,11,12,13",
    ),
    (
        _WEEKDAYS,
        "FREQ=MONTHLY;INTERVAL=2;BYDAY=TU",
        "1997 September 2,9,16,23,30; November 4,11,18,25; "
        "1998 January 6,13,20,27; March 3,10,17,24,31 ...",
    ),
    (
        "19970610T090000",
        "FREQ=YEARLY;COUNT=10;BYMONTH=6,7",
        "1997 June 10; July 10; 1998 June 10; July 10; 1999 June 10; July 10; "
        "2000 June 10; July 10; 2001 June 10; July 10",
    ),
    (
        "19970310T090000",
        "FREQ=YEARLY;INTERVAL=2;COUNT=10;BYMONTH=1,2,3",
        "1997 March 10; 1999 January 10; February 10; March 10; "
        "2001 January 10; February 10; March 10; 2003 January 10; February 10; March 10",
    ),
    (
        "19970101T090000",
        "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
        "1997 January 1; April 10; July 19; 2000 January 1; April 9; July 18; "
        "2003 January 1; April 10; July 19; 2006 January 1",
    ),
    ("19970519T090000", "FREQ=YEARLY;BYDAY=20MO", "1997 May 19; 1998 May 18; 1999 May 17 ..."),
    (
        "19970512T090000",
        "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO",
        "1997 May 12; 1998 May 11; 1999 May 17 ...",
    ),
    (
        "19970313T090000",
        "FREQ=YEARLY;BYMONTH=3;BYDAY=TH",
        "1997 March 13,20,27; 1998 March 5,12,19,26; 1999 March 4,11,18,25 ...",
    ),
    (
        "19970605T090000",
        "FREQ=YEARLY;BYDAY=TH;BYMONTH=6,7,8",
        "1997 June 5,12,19,26; July 3,10,17,24,31; August 7,14,21,28; "
        "1998 June 4,11,18,25; July 2,9,16,23,30; August 6,13,20,27; "
        "1999 June 3,10,17,24; July 1,8,15,22,29; August 5,12,19,26 ...",
    ),
    (
        f"{_WEEKDAYS}\nEXDATE;TZID=America/New_York:19970902T090000",
        "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
        "1998 February 13; March 13; November 13; 1999 August 13; 2000 October 13 ...",
    ),
    (
        "19970913T090000",
        "FREQ=MONTHLY;BYDAY=SA;BYMONTHDAY=7,8,9,10,11,12,13",
        "1997 September 13; October 11; November 8; December 13; "
        "1998 January 10; February 7; March 7; April 11; May 9; June 13 ...",
    ),
    (
        "19961105T090000",
        "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8",
        "1996 November 5; 2000 November 7; 2004 November 2 ...",
    ),
    (
        "19970904T090000",
        "FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3",
        "1997 September 4; October 7; November 6",
    ),
    (
        "19970929T090000",
        "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
        "1997 September 29; October 30; November 27; December 30; "
        "1998 January 29; February 26; March 30 ...",
    ),
    (
        "19970805T090000",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO",
        "1997 August 5,10,19,24",
    ),
    (
        "19970805T090000",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU",
        "1997 August 5,17,19,31",
    ),
    (
        "20070115T090000",
        "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5",
        "2007 January 15,30; February 15; March 15,30",
    ),
]
MORE_THAN_DAILY = [
    "FREQ=HOURLY;INTERVAL=3;UNTIL=19970902T170000Z",
    "FREQ=MINUTELY;INTERVAL=15;COUNT=6",
    "FREQ=MINUTELY;INTERVAL=90;COUNT=4",
    "FREQ=DAILY;BYHOUR=9,10,11,12,13,14,15,16;BYMINUTE=0,20,40",
    "FREQ=MINUTELY;INTERVAL=20;BYHOUR=9,10,11,12,13,14,15,16",
]


def dates(listed: str) -> Iterator[date]:
    """The dates of a list such as `1997 September 2-4; October 1,3; 1998 May 1`."""
    year, month = 0, 0
    for word in re.findall(r"[A-Za-z]+|\d{4}|\d+-\d+|\d+", listed):
        if word in _MONTHS:
            month = _MONTHS.index(word) + 1
        elif len(word) == 4 and word.isdigit():
            year = int(word)
        else:
            first, _, last = word.partition("-")
            for day in range(int(first), int(last or first) + 1):
                yield date(year, month, day)


def calendar(start: str, rule: str, last: date, zone: str = "America/New_York") -> SchoolCalendar:
    """What the program reads of one event from 1996 on."""
    event = (
        "BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//a school//EN\nBEGIN:VEVENT\nUID:1@example.org\n"
        f"SUMMARY:Bell\nDTSTART;TZID=America/New_York:{start}\nRRULE:{rule}\n"
        "END:VEVENT\nEND:VCALENDAR\n"
    )
    data = event.replace("\n", "\r\n").encode()
    return read_calendar(data, "school.ics", first=date(1996, 1, 1), last=last, zone=zone)


def test_the_list_of_dates_is_read_as_the_rfc_means_it():
    assert list(dates("1997 September 2-4; October 1,3; 1998 May 1")) == [
        date(1997, 9, 2),
        date(1997, 9, 3),
        date(1997, 9, 4),
        date(1997, 10, 1),
        date(1997, 10, 3),
        date(1998, 5, 1),
    ]


@pytest.mark.parametrize(("start", "rule", "listed"), EXAMPLES)
def test_each_example_falls_on_the_dates_under_it(start, rule, listed):
    expected = list(dates(listed))
    # Lists that end are looked at beyond their end too.
    last = expected[-1] if listed.endswith("...") else date(2010, 12, 31)

    (event,) = calendar(start, rule, last).events

    assert list(event.days) == expected


@pytest.mark.parametrize("rule", MORE_THAN_DAILY)
def test_each_example_that_comes_more_than_once_a_day_is_passed_over(rule):
    found = calendar(_WEEKDAYS, rule, date(2010, 12, 31))
    assert found.events == ()
    assert "Bell" in found.passed_over[0].place


def test_a_rule_is_followed_on_the_clock_of_its_event_and_read_on_the_choirs():
    # Nine in New York is ten at night in Tokyo, the same date, and one in the morning in Auckland.
    rule, listed = "FREQ=WEEKLY;COUNT=4;BYDAY=TU,TH", "1997 September 2,4,9,11"
    near = calendar(_WEEKDAYS, rule, date(1997, 12, 31), "Asia/Tokyo")
    far = calendar(_WEEKDAYS, rule, date(1997, 12, 31), "Pacific/Auckland")
    assert list(near.events[0].days) == list(dates(listed))
    assert list(far.events[0].days) == list(dates("1997 September 3,5,10,12"))
