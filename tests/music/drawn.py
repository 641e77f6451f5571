"""Exercises drawn by hypothesis for the formats: any tones and lengths, cut into parts."""

from fractions import Fraction

from hypothesis import strategies as st

from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key, Mode
from bot.music.rhythm import Metre
from bot.music.span import spans_of

METRES = (Metre(beats=2), Metre(beats=3), Metre(), Metre(beats=6, unit=8), Metre(beats=2, unit=2))
KEYS = st.builds(Key, fifths=st.integers(-5, 5), mode=st.sampled_from(Mode))
TONES = (
    *(Tone(step=step) for step in range(-5, 10)),
    Tone(step=3, alter=1),
    Tone(step=4, alter=1),
    Tone(step=6, alter=-1),
    Tone(step=-4, alter=1),
)


@st.composite
def lines(draw, length, grid, tones):
    """Notes and rests that fill `length` on a grid; a tie only where the tone stays."""
    notes, left = [], length
    while left:
        duration = min(left, grid * draw(st.sampled_from([1, 2, 2, 3, 4, 4, 6, 8, 12])))
        tone = draw(st.none() | st.sampled_from(tones))
        notes.append((duration, tone, draw(st.booleans())))
        left -= duration
    following = [tone for _, tone, _ in notes[1:]] + [None]
    return tuple(
        Note(duration=duration, tone=tone, tied=tie and tone is not None and tone == after)
        for (duration, tone, tie), after in zip(notes, following, strict=True)
    )


@st.composite
def exercises(draw, *, parts=3, grid=4, tones=TONES, do_octaves=(4,)):
    """One to `parts` parts on a grid of the `grid`-th part of a beat's unit.

    Every part has a note, and a pickup begins with one in the first part.
    The last measure makes up for it, or is full.
    """
    metre = draw(st.sampled_from(METRES))
    step = Fraction(1, metre.unit * grid)
    steps = int(metre.measure / step)
    pickup = draw(st.sampled_from([0, draw(st.integers(1, steps - grid))])) * step
    measures = draw(st.integers(1, 4))
    length = pickup + measures * metre.measure
    ends = [pickup] if pickup % (step * grid) else [Fraction(0), pickup]
    length -= draw(st.sampled_from(ends))
    drawn = []
    for index in range(draw(st.integers(1, parts))):
        notes = draw(lines(length, step, tones))
        if index == 0 and notes[0].tone is None:
            notes = (Note(duration=notes[0].duration, tone=tones[0]), *notes[1:])
        if all(note.tone is None for note in notes):
            notes = (*notes[:-1], Note(duration=notes[-1].duration, tone=tones[0]))
        drawn.append(Part(notes=notes, do_octave=draw(st.sampled_from(do_octaves))))
    return Exercise(key=draw(KEYS), metre=metre, parts=tuple(drawn), pickup=pickup)


def heard(exercise):
    """What is heard and where the bars are: all of an exercise but how ties and rests are cut."""
    return (
        exercise.key,
        exercise.metre.measure,
        exercise.pickup,
        exercise.length,
        tuple(
            tuple(
                (span.onset, span.end, exercise.pitch(span.tone, index)) for span in spans_of(part)
            )
            for index, part in enumerate(exercise.parts)
        ),
    )
