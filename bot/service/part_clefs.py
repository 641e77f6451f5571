"""The range and the clef of each part of a voice that divides. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bot.activities.choir import ChoirVoice
from bot.music.parts import PART_RANGES
from bot.music.pitch import Pitch
from bot.music.voice import Clef, Voice, VoiceRange

_MIDDLE_C = 60

# Treble and bass clef for the outer voices as everywhere. Changing voices are printed in the treble
# clef, the bass clef or the treble clef an octave lower; the last keeps G3 to F4 on the staff (from
# its second line up) and leaves the note names of the treble clef, so it is the default here.
DEFAULT_CLEFS = {
    Voice.TREBLE: Clef.TREBLE,
    Voice.CHANGING: Clef.TREBLE8,
    Voice.BARITONE: Clef.BASS,
}


def clef_in(limits: VoiceRange, voice: Voice, chosen: Clef) -> Clef:
    """The clef of a part with these limits; `chosen` is its voice's at the desk.

    Under the voice's usual clef a part that ends at C4 is read in the bass clef: by its range, not
    by the notes that happened to come. Another clef was chosen for all parts of the voice.
    """
    low = limits.high.midi <= _MIDDLE_C and chosen is DEFAULT_CLEFS[voice]
    return Clef.BASS if low else chosen


def divided(voice: ChoirVoice, sung: Sequence[Sequence[Pitch]]) -> tuple[ChoirVoice, ...]:
    """The parts of a voice, each with its own range and clef; `sung` has the pitches of each.

    The highest part comes first. A part of a line that is for the voice as a whole keeps the
    voice's.
    """
    ranges = PART_RANGES.get((voice.voice, len(sung)), ()) if len(sung) > 1 else ()
    if not ranges:
        return (voice,) * len(sung)
    return tuple(
        replace(voice, range=limits, clef=clef_in(limits, voice.voice, voice.clef))
        if all(map(limits.holds, pitches))
        else voice
        for limits, pitches in zip(ranges, sung, strict=True)
    )
