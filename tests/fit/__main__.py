"""`python -m tests.fit`: fit every number again and write bot/music/weights.py.

Reads the tunes that the music21 package installs and keeps none of them. Takes about four minutes.
The critic is fitted last, to lines drawn with the new weights, in a fresh interpreter.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np

from bot.music.line_facts import facts, rhythm_facts
from bot.music.rhythm import Metre
from bot.music.sequence import Form
from bot.music.traits import TRAITS
from tests.fit import lean_fit, pitch_fit, rhythm_fit
from tests.fit.broad import Maker, broad_level, teaching_level
from tests.fit.corpus import Corpus, read, windows
from tests.fit.critic_fit import Facts, facts_of, fit_critic, fit_rhythm_critic
from tests.fit.curve_fit import fit_curve, fit_last, fit_start
from tests.fit.form_fit import shares
from tests.fit.melody import WHOLE, Melody
from tests.fit.weights_file import weights_text

WEIGHTS = Path(__file__).parents[2] / "bot" / "music" / "weights.py"
SHARPNESS = 1.15  # 1 is song as it is; lines so drawn surprise more than tunes do, 1.3 less
_THREE_FOUR = 12
_DRAWN = 1000  # lines that the critic learns to tell from tunes
NEAR = 5.0  # how strongly numbers in minor, with far fewer tunes, are held near those in major


def main() -> None:
    """Fit, write, report."""
    corpus = read()
    if sys.argv[1:] == ["critic"]:
        _fit_critic(corpus)
        return
    print(f"{len(corpus.train)} tunes to fit, {len(corpus.left) + len(corpus.right)} held out, ")
    print(f"{corpus.clusters} clusters; left out: {dict(corpus.losses)}")
    numbers = _fit_lines(corpus)
    text = weights_text(**numbers, critic=_noticed(facts), rhythm_critic=_noticed(rhythm_facts))
    WEIGHTS.write_text(text, encoding="utf-8")
    _forms(corpus)
    subprocess.run([sys.executable, "-m", "tests.fit", "critic"], check=True)


def _eights(melodies: tuple[Melody, ...], bars: int = 8) -> list[Melody]:
    return windows(melodies, WHOLE, bars) + windows(melodies, _THREE_FOUR, bars)


def _fit_lines(corpus: Corpus) -> dict[str, object]:
    table = pitch_fit.counts(corpus.train)
    line = pitch_fit.fit(table, tuple(TRAITS))
    held = pitch_fit.counts(corpus.left + corpus.right)
    print(f"pitch: {len(line)} numbers, {pitch_fit.bits(table, line):.3f} bits a note,", end=" ")
    print(f"held out {pitch_fit.bits(held, line):.3f}")
    minor, lean = _fit_minor(corpus, line), _fit_lean(corpus, line)
    eight, four = _eights(corpus.train), _eights(corpus.train, 4)
    long, short = fit_curve(eight, line, 8), fit_curve(four, line, 4)
    data = rhythm_fit.read_data(corpus.train, teaching_level("p15", "r16"))
    measure = rhythm_fit.fit(data, rhythm_fit.names_of(data))
    print(f"rhythm: {len(measure)} numbers")
    return {
        "line": line,
        "minor": minor,
        "lean": lean,
        "sharpness": SHARPNESS,
        "curve": [short.tolist(), long[:4].tolist(), long[4:].tolist()],
        "last": fit_last(eight, line, long),
        "start": fit_start(eight),
        "measure": measure,
    }


def _fit_minor(corpus: Corpus, line: dict[str, float]) -> dict[str, float]:
    """The numbers of major, moved to where tunes in minor want them."""
    minor = pitch_fit.fit(pitch_fit.counts(corpus.minor), tuple(TRAITS), NEAR, line)
    held = pitch_fit.counts(corpus.minor_held)
    print(f"minor: {len(corpus.minor)} tunes, {len(corpus.minor_held)} held out,", end=" ")
    print(f"{pitch_fit.bits(held, minor):.3f} bits, by major {pitch_fit.bits(held, line):.3f}")
    return minor


def _fit_lean(corpus: Corpus, line: dict[str, float]) -> dict[str, float]:
    found = lean_fit.ways(corpus.train, line)
    lean = lean_fit.fit(found, lean_fit.names_of(found))
    held = lean_fit.ways(corpus.left + corpus.right, line)
    print(f"leanings: {len(lean)} numbers, held out {lean_fit.bits(held, lean):.3f} bits a note,")
    print(f"without them {lean_fit.bits(held, {}):.3f}")
    return lean


def _forms(corpus: Corpus) -> None:
    """Print how often each form of the shipped sequence fits, for its file."""
    forms = {form.letters + str(form.copied): form for form in teaching_level("p15").forms}
    for bars in (4, 8):
        of_length: list[Form] = [form for form in forms.values() if form.measures == bars]
        for form, share in zip(
            of_length, shares(_eights(corpus.train, bars), of_length), strict=True
        ):
            print(f"form {form.letters} copied {form.copied}: {100 * share:.0f} %")


def _noticed(kind: Facts) -> dict[str, float]:
    """Every fact, without weight."""
    line = Melody(measure=16, length=32, notes=((0, 16, 0), (16, 16, 1)))
    return dict.fromkeys(facts_of(line, kind), 0.0)


def _fit_critic(corpus: Corpus) -> None:
    from bot.music import weights

    made = Maker(broad_level(), Metre()).bare(_DRAWN, seed=0)
    tunes = windows(corpus.train)
    critic, rhythm_critic = fit_critic(tunes, made), fit_rhythm_critic(tunes, made)
    text = weights_text(
        line=weights.LINE, minor=weights.MINOR, lean=weights.LEAN,
        sharpness=weights.SHARPNESS, curve=weights.CURVE, last=weights.LAST,
        start=weights.START, measure=weights.MEASURE, critic=critic, rhythm_critic=rhythm_critic,
    )  # fmt: skip
    WEIGHTS.write_text(text, encoding="utf-8")
    largest = sorted(critic, key=lambda name: -abs(critic[name]))[:8]
    print("critic: " + ", ".join(f"{name} {critic[name]:+}" for name in largest))


if __name__ == "__main__":
    np.seterr(all="raise", under="ignore")
    main()
