"""The set-up form: little is needed, everything can be set, every fault is said at once."""

from dataclasses import replace
from datetime import date, time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.activities.calendar import Meeting, Rotation, ShortDay, Weekdays
from bot.activities.choir import Hearing, Presentation
from bot.errors import InputProblems
from bot.music.solfa import Naming, Solfa
from bot.music.tonality import KeyPattern
from bot.music.voice import DEFAULT_RANGES, Clef, Voice
from bot.service.choir_form import form_of, parse_choir_form
from bot.service.days_off import parse_days_off, write_days_off
from tests.fakes.world import content

TODAY = date(2026, 9, 14)
LEAST = {"name": ["Third Period"], "voices": ["treble"], "step_pitch": ["p01"]}
ALL_THREE = {**LEAST, "voices": ["baritone", "treble", "changing"]}


def parse(form):
    return parse_choir_form(form, content(), choir_id="c", today=TODAY)


def faults(form) -> dict[str, str]:
    with pytest.raises(InputProblems) as caught:
        parse(form)
    return {fault.place: fault.problem for fault in caught.value.faults}


def test_name_voices_and_step_are_enough():
    choir = parse(LEAST)

    assert choir.name == "Third Period"
    assert choir.meeting == Meeting(pattern=Weekdays(days=frozenset(range(5))))
    assert (choir.post_at, choir.starts_on, choir.zone) == (time(8), TODAY, "UTC")
    assert (choir.steps.rhythm, choir.steps.voice) == ("r01", "v01")
    assert choir.presentation == Presentation()
    assert (choir.measures, choir.key) == (None, None)


def test_voices_come_highest_first_with_plain_public_labels_and_usual_clefs():
    choir = parse(ALL_THREE)

    assert [(v.voice, v.label, v.clef) for v in choir.voices] == [
        (Voice.TREBLE, "Part I", Clef.TREBLE),
        (Voice.CHANGING, "Part II", Clef.TREBLE8),
        (Voice.BARITONE, "Part III", Clef.BASS),
    ]
    assert choir.voices[1].range == DEFAULT_RANGES[Voice.CHANGING]


def test_a_voice_added_later_takes_the_label_that_is_free():
    choir = parse({**ALL_THREE, "label_treble": ["Part I"], "label_baritone": ["part ii"]})

    assert [voice.label for voice in choir.voices] == ["Part I", "Part III", "part ii"]


def test_limits_that_are_narrowed_narrow_the_easy_range_along():
    choir = parse({**LEAST, "low_treble": ["E4"], "high_treble": ["A4"]})

    limits = choir.voices[0].range
    assert (str(limits.tessitura_low), str(limits.tessitura_high)) == ("E4", "A4")


@pytest.mark.parametrize(
    ("steps", "why"),
    [
        ({"step_pitch": ["p04"], "step_rhythm": ["r08"]}, "no place in a line of 4 measures"),
        ({"step_pitch": ["p03"], "step_voice": ["v07"]}, "do not come at step v07: choose 8"),
    ],
)
def test_a_length_that_the_steps_never_have_is_refused_where_it_is_chosen(steps, why):
    two = {**LEAST, "voices": ["treble", "changing"], **steps}
    assert parse(two).measures is None
    told = faults({**two, "measures": ["4"]})
    assert list(told) == ["measures"]
    assert why in told["measures"]


def test_everything_can_be_set():
    choir = parse(
        {
            **ALL_THREE,
            "step_rhythm": ["r02"],
            "clef_changing": ["bass"],
            "label_changing": ["  The   middle "],
            "meets": ["rotation"],
            "rotation_length": ["6"],
            "rotation_day": ["1", "4"],
            "rotation_anchor": ["2026-09-08"],
            "days_off": ["2026-11-26 to 2026-11-27\n\n12/24/2026"],
            "post_at": ["7:45"],
            "zone": ["America/Chicago"],
            "starts_on": ["2026-09-08"],
            "naming": ["numbers"],
            "fifth": ["sol"],
            "seventh": ["si"],
            "key_pattern": ["scale"],
            "a4_hz": ["442,5"],
            "tempo_bpm": ["72"],
            "mark_do": ["no"],
            "give_pitch": ["no"],
            "measures": ["4"],
        }
    )

    assert choir.meeting == Meeting(
        pattern=Rotation(length=6, meets_on=frozenset({1, 4}), anchor=date(2026, 9, 8)),
        days_off=frozenset({date(2026, 11, 26), date(2026, 11, 27), date(2026, 12, 24)}),
    )
    assert (choir.voices[1].label, choir.voices[1].clef) == ("The middle", Clef.BASS)
    assert choir.presentation == Presentation(
        solfa=Solfa(naming=Naming.NUMBERS, fifth="sol", seventh="si"),
        key_pattern=KeyPattern.SCALE,
        a4_hz=442.5,
        tempo_bpm=72,
        mark_do=False,
        give_pitch=False,
    )
    assert (choir.steps.rhythm, choir.measures, choir.post_at) == ("r02", 4, time(7, 45))


def test_every_fault_is_said_at_once_at_its_field():
    found = faults(
        {
            "name": ["  "],
            "voices": ["alto"],
            "step_pitch": ["p99"],
            "meets": ["weekdays"],
            "weekday": ["8"],
            "days_off": ["2026-11-26\nsometime"],
            "post_at": ["8 PM"],
            "zone": ["Mars/Olympus"],
            "starts_on": ["soon"],
            "naming": ["hum"],
            "a4_hz": ["300"],
            "tempo_bpm": ["fast"],
            "mark_do": ["maybe"],
            "measures": ["99"],
            "key": ["H"],
        }
    )

    assert set(found) == {
        "name", "voices", "step_pitch", "weekday", "days_off", "post_at", "zone", "starts_on",
        "naming", "a4_hz", "tempo_bpm", "mark_do", "measures", "key",
    }  # fmt: skip
    assert found["days_off"].startswith("Line 2, “sometime”")
    assert found["a4_hz"] == "Write a number from 430 to 450."


def test_an_empty_form_asks_for_what_is_needed():
    assert set(faults({})) == {"name", "voices", "step_pitch"}


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("low_treble", "tief"),
        ("high_treble", "C3"),  # below the low limit: the range is inside out
        ("clef_treble", "alto"),
        ("label_treble", "x" * 31),
        ("name", "x" * 61),
        ("sequence", "another"),
        ("rotation_day", "3"),  # of a cycle of two
    ],
)
def test_a_single_fault_is_found(field, value):
    form = {
        **LEAST,
        "meets": ["rotation"],
        "rotation_day": ["1"],
        "rotation_anchor": ["2026-09-08"],
        field: [value],
    }

    assert {place.split("_")[0] for place in faults(form)} <= {field.split("_")[0], "low"}


def test_two_parts_of_the_same_name_are_a_fault():
    found = faults({**ALL_THREE, "label_treble": ["Tutti"], "label_changing": ["tutti"]})

    assert list(found) == ["label_changing"]


@pytest.mark.parametrize("anchor", ["", "2026-09-12", "2026-09-07"])
def test_a_rotation_begins_on_a_day_with_school(anchor):
    found = faults(
        {
            **LEAST,
            "meets": ["rotation"],
            "rotation_day": ["1"],
            "rotation_anchor": [anchor],
            "days_off": ["2026-09-07"],
        }
    )

    assert list(found) == ["rotation_anchor"]


def test_a_pattern_without_a_day_is_a_fault():
    assert list(faults({**LEAST, "meets": ["weekdays"]})) == ["weekday"]
    assert "rotation_day" in faults({**LEAST, "meets": ["rotation"]})


def test_a_key_of_the_wrong_mode_is_a_fault():
    assert list(faults({**LEAST, "key": ["d minor"]})) == ["key"]
    assert parse({**LEAST, "key": ["D"]}).key == "D"


def test_a_key_that_no_voice_can_sing_in_is_a_fault_with_its_reason():
    found = faults({**LEAST, "low_treble": ["C4"], "high_treble": ["E4"], "key": ["F"]})

    assert list(found) == ["key"]
    assert "C4" in found["key"]


def test_voices_that_share_no_key_are_a_fault():
    form = {**LEAST, "low_treble": ["E4"], "high_treble": ["F4"]}

    assert list(faults(form)) == ["voices"]


CHOIRS = st.builds(
    lambda name, off, short, post_at, naming, bpm, days, bell_at, hearing: replace(
        parse(ALL_THREE),
        name=name,
        meeting=Meeting(pattern=Weekdays(days=days), days_off=off, short_days=short),
        post_at=post_at,
        presentation=Presentation(solfa=Solfa(naming=naming), tempo_bpm=bpm, mark_do=bpm is None),
        bell_at=bell_at,
        hearing=hearing,
    ),
    name=st.text("abc XYZ'’é", min_size=1, max_size=60)
    .map(lambda text: " ".join(text.split()))
    .filter(bool),
    off=st.frozensets(st.dates(date(2026, 1, 1), date(2028, 1, 1)), max_size=40),
    short=st.dictionaries(
        st.dates(date(2026, 1, 1), date(2028, 1, 1)), st.times(), max_size=20
    ).map(
        lambda days: frozenset(
            ShortDay(on=on, bell_at=at.replace(second=0, microsecond=0)) for on, at in days.items()
        )
    ),
    post_at=st.times().map(lambda t: t.replace(second=0, microsecond=0)),
    naming=st.sampled_from(Naming),
    bpm=st.none() | st.integers(40, 160),
    days=st.frozensets(st.integers(0, 6), min_size=1),
    bell_at=st.none() | st.times().map(lambda t: t.replace(second=0, microsecond=0)),
    hearing=st.sampled_from(Hearing),
)


@settings(max_examples=30)
@given(CHOIRS)
def test_a_form_filled_from_a_choir_reads_back_as_that_choir(choir):
    assert parse(form_of(choir)) == choir


def test_a_rotation_reads_back_too():
    choir = replace(
        parse(ALL_THREE),
        meeting=Meeting(pattern=Rotation(length=6, meets_on=frozenset({2, 5}), anchor=TODAY)),
        key="Bb",
        measures=4,
    )

    assert parse(form_of(choir)) == choir


@given(st.frozensets(st.dates(date(2020, 1, 1), date(2035, 1, 1)), max_size=60))
def test_days_off_written_and_read_are_the_same_days(days):
    assert parse_days_off(write_days_off(days), content().wording) == (days, ())


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-26 to 2026-11-25",
        "2026-01-01 to 2030-01-01",
        "2026-02-30",
        "26 November",
        "13/13/2026",
    ],
)
def test_a_line_that_is_no_day_is_told_by_its_number(text):
    days, problems = parse_days_off(f"2026-11-20\n{text}", content().wording)

    assert days == {date(2026, 11, 20)}
    assert len(problems) == 1
    assert problems[0].startswith("Line 2")


def test_a_key_that_is_asked_for_by_its_do_goes_with_steps_in_minor_too():
    assert parse({**LEAST, "step_pitch": ["p16"], "key": ["F"]}).key == "F"
