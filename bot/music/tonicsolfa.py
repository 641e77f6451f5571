"""Tonic sol-fa letters typed in a box, read as an exercise; every fault at once with its place.

    KEY F. LAH is D.  :m_ |l_ :-.t_ :d |t_.,l_ :si_ :m_ |l_ :- ||

`|` stands before a strong pulse, `!` before a medium one, `:` before a weak one; a letter lasts to
the next mark, `-` holds it on, nothing is silence. `.` halves a pulse, `,` cuts off a quarter, `.,`
the last quarter. `'` raises a tone by an octave and `_` lowers it. The unmarked octave begins at
the do from C4 up; `KEY F3.` names another octave. Two or three parts follow one another, highest
first, each with its KEY. Words stand in a line of their own under the letters (`letter_words.py`).

The metre is read off the accents. A pulse is taken as a quarter, in measures of six as an eighth;
who knows better says so with `metre`. Rules: `trade.md` section 4.2.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from bot.errors import Fault, InputProblems
from bot.music.exercise import Exercise, Part
from bot.music.letter_words import words_of
from bot.music.letters import SLOTS, Dialect
from bot.music.pitch import Key
from bot.music.pulse import STRONG, Heading, Pulse, Tune, read_cells, read_tunes
from bot.music.rhythm import Metre
from bot.music.span import Span, notes_of
from bot.music.spot import Spot

ACCENTS = {2: "|:", 3: "|::", 4: "|:!:", 6: "|::!::"}
_METRES = {2: Metre(beats=2), 3: Metre(beats=3), 4: Metre(), 6: Metre(beats=6, unit=8)}
_NUMBER = re.compile(r"\d+")
_PARTS = 3
_MOST_CHARACTERS = 20_000  # some 128 measures of three parts at their busiest


def exercise_from_tonicsolfa(
    text: str,
    *,
    dialect: Dialect = Dialect.MODERN,
    metre: Metre | None = None,
    low_commas: bool = False,
) -> Exercise:
    """Read one to three parts of letters.

    `metre` says what the pulses are worth where it is not what the accents suggest. `low_commas`
    reads a comma right after a letter as the lower octave, as many printed books have it.
    InputProblems lists every fault by line and column.
    """
    if len(text) > _MOST_CHARACTERS:
        problem = f"more than {_MOST_CHARACTERS} characters"
        raise InputProblems([Fault(place="letters", problem=problem, remedy="keep one tune")])
    faults: list[Fault] = []
    tunes = read_tunes(text, faults)
    if len(tunes) > _PARTS:
        faults.append(tunes[_PARTS].spot.fault("a fourth part", "three parts at the most"))
    read = [_part(tune, metre, dialect, faults, low_commas=low_commas) for tune in tunes]
    if not faults and not any(part.spans for part in read):
        remedy = "write for example |d :r |m :- ||"
        faults.append(tunes[0].spot.fault("there are no notes", remedy))
    first = read[0]
    for part, tune in zip(read[1:], tunes[1:], strict=True):
        faults += _disagreements(first, part, tune.spot)
    if faults:
        raise InputProblems(sorted(faults, key=_where))
    return _exercise(read)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """A part as read: `pulses` in all, of them `pickup` before and `last` after a strong bar."""

    heading: Heading
    metre: Metre
    pulses: int
    pickup: int
    last: int
    spans: tuple[Span, ...]
    words: tuple[str, ...]


def _where(fault: Fault) -> list[int]:
    """Line and column of a fault, so that faults are told in the order of what was typed."""
    return [int(number) for number in _NUMBER.findall(fault.place)]


def _part(
    tune: Tune, metre: Metre | None, dialect: Dialect, faults: list[Fault], *, low_commas: bool
) -> _Part:
    measures = list(_measures(tune.pulses))
    opening = measures[0] if measures and measures[0][0].sign != STRONG else ()
    full = measures[1:] if opening else measures
    metre = metre or _metre(full, faults)
    if metre is not None:
        faults += _broken_accents(opening, full, metre)
    metre = metre or Metre()
    spans, lines = _spans(tune.pulses, metre, dialect, faults, low_commas=low_commas)
    return _Part(
        heading=tune.heading,
        metre=metre,
        pulses=len(tune.pulses),
        pickup=len(opening),
        last=len(full[-1]) if full else 0,
        spans=spans,
        words=words_of(tune.words, lines, faults),
    )


def _measures(pulses: Sequence[Pulse]) -> Iterator[tuple[Pulse, ...]]:
    """Cut pulses before every strong one."""
    begin = 0
    for index, pulse in enumerate(pulses):
        if pulse.sign == STRONG and index > begin:
            yield tuple(pulses[begin:index])
            begin = index
    if begin < len(pulses):
        yield tuple(pulses[begin:])


def _metre(full: Sequence[Sequence[Pulse]], faults: list[Fault]) -> Metre | None:
    """Return the metre that most measures show; a short last one has no say."""
    shown = Counter(len(measure) for measure in full[:-1] or full)
    if not shown:
        return None
    pulses = shown.most_common(1)[0][0]
    if pulses not in _METRES:
        first = next(measure[0] for measure in full if len(measure) == pulses)
        remedy = "2, 3, 4 or 6 pulses stand from one | to the next"
        faults.append(first.spot.fault(f"a measure of {_count(pulses)}", remedy))
    return _METRES.get(pulses)


def _broken_accents(
    opening: Sequence[Pulse], full: Sequence[Sequence[Pulse]], metre: Metre
) -> Iterator[Fault]:
    beats, pickup = metre.beats, len(opening)
    accents = ACCENTS.get(beats, "|" + ":" * (beats - 1))
    pattern = " ".join(accents)
    if pickup >= beats and full:
        problem = f"{_count(pickup)} before the first |"
        yield full[0][0].spot.fault(problem, f"a pickup in {metre} is shorter than {beats} pulses")
    for number, measure in enumerate(full, start=1):
        closes = number == len(full) and len(measure) in _closing(opening, beats)
        if len(measure) != beats and not closes:
            problem = f"measure {number} has {_count(len(measure))}"
            yield measure[0].spot.fault(problem, f"each has {beats}, written {pattern}")
            continue
        for accent, pulse in zip(accents, measure, strict=False):
            if pulse.sign != accent:
                problem = f"{pulse.sign!r} in measure {number}"
                yield pulse.spot.fault(problem, f"{beats} pulses are written {pattern}")


def _closing(opening: Sequence[Pulse], beats: int) -> tuple[int, ...]:
    """Return how many pulses a last measure has that makes up for a pickup.

    One more where the pickup begins within its first pulse: both are filled up with silence.
    """
    if not opening:
        return ()
    rest = beats - len(opening)
    late = not opening[0].signs or opening[0].signs[0].text in ".,"
    return (rest, rest + 1) if late else (rest,)


def _count(pulses: int) -> str:
    return "1 pulse" if pulses == 1 else f"{pulses} pulses"


def _spans(
    pulses: Sequence[Pulse],
    metre: Metre,
    dialect: Dialect,
    faults: list[Fault],
    *,
    low_commas: bool,
) -> tuple[tuple[Span, ...], tuple[int, ...]]:
    """Return what sounds from when to when, in whole notes from the first pulse, and on what line.

    The lines are those of the text.
    """
    slot = Fraction(1, metre.unit * SLOTS)
    spans: list[Span] = []
    lines: list[int] = []
    sounding = False
    for index, pulse in enumerate(pulses):
        for cell in read_cells(pulse, dialect, faults, low_commas=low_commas):
            onset = (index * SLOTS + cell.begin) * slot
            end = (index * SLOTS + cell.end) * slot
            if cell.tone is not None:
                spans.append(Span(onset=onset, end=end, tone=cell.tone))
                lines.append(cell.spot.line)
            elif cell.hold and sounding:
                spans[-1] = Span(onset=spans[-1].onset, end=end, tone=spans[-1].tone)
            elif cell.hold:
                problem = "- has no note to hold"
                faults.append(cell.spot.fault(problem, "leave the place empty for silence"))
            sounding = cell.tone is not None or (cell.hold and sounding)
    return tuple(spans), tuple(lines)


def _disagreements(first: _Part, part: _Part, spot: Spot) -> Iterator[Fault]:
    if first.heading.key not in (None, part.heading.key):
        yield spot.fault("another key", f"all parts are in {first.heading.key}")
    if part.metre != first.metre:
        yield spot.fault(f"{part.metre}", f"the first part has {first.metre}")
    elif (part.pulses, part.pickup) != (first.pulses, first.pickup):
        problem = f"{_count(part.pulses)}, {part.pickup} of them before the first |"
        yield spot.fault(problem, f"the first part has {first.pulses}, {first.pickup} before it")


def _exercise(read: Sequence[_Part]) -> Exercise:
    """Put parts together; silence that only fills up the pulse of a pickup is left out."""
    first = read[0]
    metre, key = first.metre, first.heading.key or Key(fifths=0)
    pulse = Fraction(1, metre.unit)
    pickup, end = first.pickup * pulse, first.pulses * pulse
    spans = [span for part in read for span in part.spans]
    cut = min([pickup, *(span.onset for span in spans)])
    spare = pickup - cut
    if cut and spare and first.last == metre.beats - first.pickup + 1:
        trimmed = end - (first.last * pulse - (metre.measure - spare))
        end = trimmed if max(span.end for span in spans) <= trimmed else end
    parts = tuple(
        Part(
            notes=notes_of(part.spans, cut, end, metre, metre.measure - pickup),
            do_octave=part.heading.octave,
            words=part.words,
        )
        for part in read
    )
    return Exercise(key=key, metre=metre, parts=parts, pickup=spare)
