"""Hand signs: which drawing in `content/signs/` shows a tone.

The seven signs follow the published descriptions of J. Curwen's signs as singers use them today
(fa with the thumb). For raised and lowered tones the descriptions disagree: here a raised tone
points up as ti does, for it leads up, and te points its thumb down as fa does, for it leads down.
"""

from __future__ import annotations

from bot.music.exercise import Tone

_DEGREES = ("do", "re", "mi", "fa", "so", "la", "ti")
_ALTERED = {(3, 1): "fi", (4, 1): "si", (6, -1): "te"}
_LOW, _HIGH = range(-3, 0), 7
SIGNS = (*_DEGREES, "do-high", "so-low", "la-low", "ti-low", *_ALTERED.values())


def sign_name(tone: Tone) -> str:
    """The name of the drawing: `so-low`, `do-high`, `fi`; ValueError for a tone without a sign.

    A degree in another octave has the drawing of its own octave.

    >>> sign_name(Tone(step=-3)), sign_name(Tone(step=7)), sign_name(Tone(step=9))
    ('so-low', 'do-high', 'mi')
    """
    if tone.alter:
        name = _ALTERED.get((tone.step % 7, tone.alter))
        if name is None:
            raise ValueError(f"step {tone.step} altered by {tone.alter} has no hand sign")
        return name
    if tone.step in _LOW:
        return f"{_DEGREES[tone.step % 7]}-low"
    return "do-high" if tone.step == _HIGH else _DEGREES[tone.step % 7]
