"""A held part for a finale in three: long notes on the chords of the ground that all lines share.

Three lines that were read one by one seldom agree; two do, and the ground under them is known. So
where no third line matches, the third part holds a tone of each chord, as near as may be to the
one before, and is proved with the others like any part.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice, pairwise, product

from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.over_rests import parallels_over_rests
from bot.music.partners import check_partners
from bot.music.shared_ground import SharedGround
from bot.music.voice import VoiceRange

_OCTAVES = range(6, 0, -1)
_DEGREES = 7
_TRIES = 60  # smoothest parts that are tried in each place
_LEAP, _REPEAT = 4, 0.3  # scale steps that a held part moves at most; what staying costs


def with_held_part(
    pair: Exercise,
    ground: SharedGround,
    tones: Sequence[Tone],
    ranges: Sequence[VoiceRange],
    place: int,
) -> Exercise | None:
    """Two lines with a held part at `place` among the three; None where none sounds well.

    `ranges` are those of the three parts; `tones` what the step reads.
    """
    limits = ranges[place]
    for octave in _OCTAVES:
        sung = [t for t in tones if limits.holds(pair.key.pitch(t.step, t.alter, octave))]
        for notes in islice(_smoothest(ground, sung), _TRIES):
            part = Part(notes=notes, do_octave=octave)
            parts = (*pair.parts[:place], part, *pair.parts[place:])
            whole = replace(pair, parts=parts)
            if not check_partners(whole, ranges) and not parallels_over_rests(whole):
                return whole
    return None


def _smoothest(ground: SharedGround, sung: Sequence[Tone]) -> Iterator[tuple[Note, ...]]:
    """Held parts over the ground, the smoothest first."""
    rows, lengths = [], []
    for chords in ground.chords:
        for root in chords:
            degrees = {root % _DEGREES, (root + 2) % _DEGREES, (root + 4) % _DEGREES}
            rows.append([t for t in sung if not t.alter and t.step % _DEGREES in degrees])
            lengths.append(ground.metre.measure / len(chords))
    rows[-1] = [tone for tone in rows[-1] if tone.step % _DEGREES in (0, 2, 4)]
    ways = [
        way
        for way in product(*rows)
        if all(abs(a.step - b.step) <= _LEAP for a, b in pairwise(way))
    ]
    ways.sort(key=_roughness)
    for way in ways:
        yield tuple(
            Note(duration=length, tone=tone) for length, tone in zip(lengths, way, strict=True)
        )


def _roughness(way: tuple[Tone, ...]) -> tuple[float, tuple[Tone, ...]]:
    moves = [abs(a.step - b.step) or _REPEAT for a, b in pairwise(way)]
    return sum(moves) + 0.5 * (way[-1].step % _DEGREES), way
