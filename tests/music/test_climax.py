"""One high point: just the lines whose top tone is sung once, each as likely as its weights say."""

from collections import Counter
from dataclasses import replace
from functools import cache
from math import fsum, prod
from random import Random

import pytest

from bot.errors import NoExercise
from bot.music.both_ways import both_ways
from bot.music.breach import Rule
from bot.music.catalogue import Catalogue
from bot.music.checker import check
from bot.music.climax import tops_of
from bot.music.composer import Composer
from bot.music.copied_lines import CopiedLines
from bot.music.drawing import Unread
from bot.music.exercise import Tone
from bot.music.level import level_of
from bot.music.lines import FreeLines
from bot.music.pitch import Key
from bot.music.refocus import refocused
from bot.music.rhythm import Metre
from bot.music.rhythms import Taken
from bot.music.sequence import Climax, Form, Track
from bot.music.set_to_words import words_level
from bot.music.skeleton import skeleton_of
from bot.music.turns import retrograde
from tests.music.law import all_lines, chi_square, law
from tests.music.levels import TWO_FOUR, level, shipped, steps_first, tiny
from tests.music.lines import line

_KEY = Key.parse("F")
_SMALL = ("steps", "skip", "seam", "both new", "held")


def _once(full):
    return replace(full, conditions=replace(full.conditions, climax=Climax.ONCE))


@cache
def _small(name):
    """A level whose lines can all be written out; `seam`: eight measures with mi twice at least."""
    if name != "seam":
        return tiny(name)
    full = tiny("two phrases")
    focus = replace(full.pitch_focus, count=2)
    conditions = replace(full.conditions, start=full.tones[:1])
    tones = level("p05").tones[:4]
    return replace(full, tones=tones, pitch_focus=focus, conditions=conditions)


def _has_one_high_point(tones):
    top = max(tones)
    return tones.count(top) == 1 and top not in (tones[0], tones[-1])


def _catalogue(full):
    return Catalogue(Composer(full, full.tones), TWO_FOUR, full.measures[0])


def _named(lines):
    return {each.exercise(_KEY, 4).fingerprint() for each in lines}


@pytest.mark.parametrize("name", _SMALL)
def test_they_are_just_the_lines_of_the_level_that_have_one_high_point(name):
    full = _small(name)
    every, once = _catalogue(full), _catalogue(_once(full))
    lines = [every.line(n) for n in range(every.size)]
    right = [each for each in lines if _has_one_high_point(each.tones)]
    checked = [each for each in lines if not check(each.exercise(_KEY, 4), _once(full), None)]

    numbered = [once.line(n) for n in range(once.size)]

    assert 0 < once.size == len(right) < every.size
    assert _named(numbered) == _named(right) == _named(checked)
    assert [once.number(each) for each in numbered] == list(range(once.size))


def test_a_line_with_a_pickup_may_not_begin_with_its_high_point():
    known, metre = level("p01", "r11"), Metre.parse("3/4")
    few = tuple(replace(c, in_a_row=2) for c in known.cells if c.text in ("q", "h", "h."))
    full = replace(
        known,
        cells=few,
        metres=((metre, 1),),
        rules=replace(known.rules, equal_notes=1),
        conditions=replace(known.conditions, start=known.tones[1:]),
    )
    every, once = (
        Catalogue(Composer(each, each.tones), metre, 4, pickup=True) for each in (full, _once(full))
    )
    right = [n for n in range(every.size) if _has_one_high_point(every.line(n).tones)]
    assert 20 < once.size == len(right)
    assert [once.number(once.line(n)) for n in range(once.size)] == list(range(once.size))


@pytest.mark.parametrize("name", ["steps", "seam", "both new", "held"])
def test_read_backwards_they_have_it_too(name):
    full = _small(name)
    if name == "both new":
        rhythm, pitch = (
            replace(full.rhythm_focus, count=2),
            replace(full.pitch_focus, count=1),
        )
        rules = replace(full.rules, equal_notes=2)
        full = replace(full, rules=rules, rhythm_focus=rhythm, pitch_focus=pitch)
    every, once = _catalogue(both_ways(full)), _catalogue(both_ways(_once(full)))
    right = [each for each in map(every.line, range(every.size)) if _has_one_high_point(each.tones)]
    lines = [once.line(n) for n in range(once.size)]
    assert len(lines) == len(right) > 0
    assert _named(lines) == _named(right)
    for each in lines:
        assert check(retrograde(each.exercise(_KEY, 4)), _once(full), None) == ()


def _over_one_rhythm(full):
    """Free lines and copied ones over twelve notes."""
    composer = Composer(full, full.tones)
    (frame,) = composer.frames(None, None)
    for seed in range(40):
        measures = frame.line(frame.rhythms.draw(Random(seed), Taken()))
        skeleton = skeleton_of(measures, copied_measures=1)
        messages = frame.ground.messages
        lines = CopiedLines(messages, skeleton)
        if skeleton.notes == 12 and lines.total:
            return messages, skeleton, FreeLines(messages, skeleton), lines
    raise AssertionError("no copies")


def _copying():
    """By step from do to fa, in eight measures, the first of them twice; do often enough."""
    full = _small("seam")
    focus = replace(full.pitch_focus, tones=frozenset(full.tones[:1]), count=2)
    rules = replace(full.rules, equal_notes=2)
    forms = (Form(letters="abcdaefg", weight=1, copied=1),)
    tones = level("p05").tones[:4]
    return replace(full, tones=tones, pitch_focus=focus, rules=rules, forms=forms)


def test_lines_whose_first_measures_come_back_have_it_outside_of_these():
    _, skeleton, free, copied = _over_one_rhythm(_once(_copying()))
    seam, motif = skeleton.phrase_ends[0], skeleton.copied
    found = [copied.tones(labels) for labels, _ in all_lines(copied)]
    right = {
        tones
        for labels, _ in all_lines(free)
        if (tones := free.tones(labels))[:motif] == tones[seam : seam + motif]
    }
    places = {tones.index(max(tones)) < seam for tones in found}
    assert sorted(found) == sorted(right)
    assert places == {True, False}  # the high point before the copy, and after it
    assert all(copied.labels(tones) is not None for tones in right)
    assert all(_has_one_high_point(tones) for tones in right)


@pytest.mark.parametrize("copied", [False, True])
def test_a_line_comes_as_often_as_the_weights_of_its_ways_on_say(copied):
    messages, skeleton, free, again = _over_one_rhythm(_once(_copying()))
    lines = again if copied else free
    shares = {lines.tones(labels): share for labels, share in all_lines(lines)}
    weights = {
        tones: _weight(messages, skeleton, tones, skeleton.copied if copied else 0)
        for tones in shares
    }
    whole = fsum(weights.values())
    assert len(shares) > 20
    assert lines.total == pytest.approx(whole, rel=1e-9)
    for tones, share in shares.items():
        assert share == pytest.approx(weights[tones] / whole, rel=1e-9)


def _weight(messages, skeleton, tones, copied):
    """The weight of a line by the plain table's ways on; copied notes are weighed once."""
    plain, seam, top = messages.moves.plain, skeleton.phrase_ends[0], max(tones)
    factors, context = [messages.start_weights()[tones[0]]], tones[0]
    for note in range(1, len(tones)):
        place, tone = skeleton.places[note], tones[note]
        late = 2.0 if tone == top and place.phrase == 2 and place.measure < 3 else 1.0
        hit = 1.8 if plain.arrives[tones[note - 1]][tone] and note != seam else 1.0
        if note == seam:
            weights = messages.seam_weights(place, new=False)
            factors.append(weights[tones[note - 1], tone])
            context = tone
            continue
        way = next(k for k, (_, to, _) in enumerate(plain.ways[context]) if to == tone)
        if not seam < note < seam + copied:
            way_weights = messages._model.way_weights(place)
            factors.append(way_weights[way, context] * late * hit)
        context = plain.ways[context][way][0]
    return prod(factors)


@pytest.mark.parametrize("draws", [1_200, pytest.param(200_000, marks=pytest.mark.long)])
def test_draws_follow_the_law(draws):
    full = _once(_small("seam"))
    composer = Composer(full, full.tones)
    shares = law(composer)
    composer.lines = cache(composer.lines)  # those over one rhythm are the same every time
    random = Random(11)

    drawn = Counter(composer.draw(random).exercise(_KEY, 4).fingerprint() for _ in range(draws))

    assert fsum(shares.values()) == pytest.approx(1, abs=1e-12)
    assert len(shares) == _catalogue(full).size
    statistic, freedom = chi_square(drawn, shares)
    assert freedom > 30
    assert statistic / freedom < 1 + 3.719 * (2 / freedom) ** 0.5


def test_a_level_is_read_to_its_end_without_a_repeat():
    full = _once(tiny("skip"))
    size, seen = _catalogue(full).size, []
    composer = Composer(full, full.tones)
    for seed in range(size):
        seen.append(composer.choose(Random(seed), seen=seen).exercise(_KEY, 4))
    assert len({each.fingerprint() for each in seen}) == size
    with pytest.raises(NoExercise, match="all-read"):
        composer.choose(Random(0), seen=seen)


def test_high_lines_have_the_two_highest_tones_for_their_top_and_low_ones_the_lowest():
    tones = level("p11").tones
    by_lie = tops_of(tones, Tone(step=0))
    words = {lie: [tones[top].step for top in tops] for lie, tops in by_lie.items()}
    assert words == {0: [4, 5], -1: [1, 2, 3], 1: [6, 7]}
    assert tops_of(tones[:7], Tone(step=0)) == {0: (4, 5, 6)}
    assert tops_of(tones[:4], Tone(step=0)) == {}


@pytest.mark.parametrize("sequence", ["steps-first", "two-tones-first"])
def test_both_orders_teach_it_while_the_thirds_are_new(sequence):
    steps = shipped(sequence).track(Track.PITCH)
    once = [
        step.id
        for step in steps
        if level_of(shipped(sequence), [step.id]).conditions.climax == "once"
    ]
    assert once == ["p11", "p12", "p13"]


def test_parts_words_and_lines_that_come_back_to_an_earlier_tone_may_have_more():
    assert level("p11", "r04").conditions.climax is Climax.ONCE
    for voice in (step.id for step in steps_first().track(Track.VOICE)[1:]):
        assert level("p11", "r04", voice).conditions.climax is Climax.ANY
    assert words_level(level("p11", "r04")).conditions.climax is Climax.ANY
    back = refocused(level("p11", "r04"), steps_first(), ("p06", "r03"))
    assert back.conditions.climax is Climax.ANY
    same = refocused(level("p11", "r04"), steps_first(), ("p11", "r03"))
    assert same.conditions.climax is Climax.ONCE


@pytest.mark.parametrize(
    ("tones", "place", "detail"),
    [
        ("do re mi fa so la so mi", (), ""),
        ("do re la fa so la so mi", (2, 2), "2 x la"),
        ("do re la la so fa so mi", (1, 4), "2 x la"),
        ("so mi re mi fa mi re do", (1, 1), "so"),
    ],
)
def test_the_checker_tells_of_a_top_tone_that_is_no_high_point(tones, place, detail):
    words = tones.split()
    text = " ".join(f"{word}:q" for word in words) + " fa:h re:h re:h do:h"
    full = level("p11", "r01")
    found = [b for b in check(line(text), full, None) if b.rule is Rule.CLIMAX]
    free = replace(full, conditions=replace(full.conditions, climax=Climax.ANY))
    assert [(b.measure, b.beat) for b in found] == ([place] if place else [])
    assert [b.detail for b in found] == ([detail] if detail else [])
    assert not [b for b in check(line(text), free, None) if b.rule is Rule.CLIMAX]


def test_a_high_point_that_is_tied_over_the_bar_line_is_one_note():
    text = "do:q re:q mi:q fa:q~ | fa:q mi:q re:h | mi:q re:q do:h | re:q re:q do:h"
    full = _once(level("p05", "r21"))
    assert Rule.CLIMAX not in [b.rule for b in check(line(text), full, None)]
    assert Rule.CLIMAX in [b.rule for b in check(line(text.replace("~", "")), full, None)]


def test_no_copy_that_is_drawn_holds_the_high_point():
    full = level("p12", "r04")
    composer = Composer(full, full.tones)
    for frame in composer.frames(TWO_FOUR if TWO_FOUR in dict(full.metres) else None, 8):
        if frame.form.copied and frame.rhythms.total:
            path = frame.rhythms.draw(Random(3), Taken())
            tones = Unread(composer.lines(frame, path)).draw(Random(4))
            assert _has_one_high_point(list(tones))
