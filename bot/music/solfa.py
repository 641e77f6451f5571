"""Names of scale degrees: movable-do syllables, numbers, letters."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bot.music.exercise import Tone
from bot.music.pitch import Key, Mode

_DIATONIC = ("do", "re", "mi", "fa", "so", "la", "ti")
_RAISED = ("di", "ri", "mis", "fi", "si", "li", "tis")
_LOWERED = ("de", "ra", "me", "fe", "se", "le", "te")


class Naming(StrEnum):
    """How a choir names scale degrees."""

    SYLLABLES = "syllables"
    NUMBERS = "numbers"
    LETTERS = "letters"


@dataclass(frozen=True, slots=True, kw_only=True)
class Solfa:
    """A choir's dialect: `so` or `sol`, `ti` or `si`; minor with la or with do as its tonic.

    Where degree 7 is called `si`, raised so is called `sil` so that the two stay apart.
    """

    naming: Naming = Naming.SYLLABLES
    fifth: str = "so"
    seventh: str = "ti"
    do_based_minor: bool = False

    def __post_init__(self) -> None:
        if self.fifth not in ("so", "sol"):
            raise ValueError(f"the fifth degree is {self.fifth!r}: so or sol")
        if self.seventh not in ("ti", "si"):
            raise ValueError(f"the seventh degree is {self.seventh!r}: ti or si")

    def name(self, tone: Tone, key: Key) -> str:
        """Name a tone in a key, without octave.

        >>> from bot.music.exercise import Tone
        >>> Solfa(fifth="sol").name(Tone(step=-3), Key.parse("F"))
        'sol'
        """
        if self.naming is Naming.LETTERS:
            return str(key.pitch(tone.step, tone.alter, 4).name)
        step, alter = self._relative(tone, key)
        if self.naming is Naming.NUMBERS:
            return {-1: "♭", 0: "", 1: "♯"}.get(alter, "") + str(step % 7 + 1)
        return self._syllable(step % 7, alter)

    def _relative(self, tone: Tone, key: Key) -> tuple[int, int]:
        """Step and alteration above the tonic that this dialect counts from."""
        if key.mode is Mode.MAJOR or not (self.do_based_minor or self.naming is Naming.NUMBERS):
            return tone.step, tone.alter
        step = tone.step - 5
        if self.naming is Naming.NUMBERS:
            return step, tone.alter
        return step, tone.alter - (1 if step % 7 in (2, 5, 6) else 0)

    def _syllable(self, degree: int, alter: int) -> str:
        if alter > 0:
            raised = _RAISED[degree]
            return "sil" if raised == "si" and self.seventh == "si" else raised
        if alter < 0:
            return _LOWERED[degree]
        return {4: self.fifth, 6: self.seventh}.get(degree, _DIATONIC[degree])
