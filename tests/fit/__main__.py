"""`python -m tests.fit`: fit every number again and write bot/music/weights.py.

Reads the tunes that the music21 package installs and keeps none of them. Takes about ten minutes.
What is fitted to tunes is then moved until lines are as tunes are; the critic is fitted last. Lines
are drawn with the numbers of the moment, in a fresh interpreter (`drawn`).
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from unittest.mock import patch

import numpy as np

from bot.music import line_draw
from bot.music.line_facts import facts, rhythm_facts
from bot.music.patterns import PHRASE
from bot.music.rhythm import Metre
from bot.music.sequence import Form
from bot.music.traits import TRAITS
from tests.fit import lean_fit, moment_fit, pitch_fit, rhythm_fit
from tests.fit.broad import Maker, broad_level, teaching_level
from tests.fit.corpus import Corpus, read, windows
from tests.fit.critic_fit import Facts, facts_of, fit_critic, fit_rhythm_critic
from tests.fit.curve_fit import fit_curve, fit_last, fit_start
from tests.fit.form_fit import shares
from tests.fit.melody import WHOLE, Melody
from tests.fit.weights_file import weights_text

WEIGHTS = Path(__file__).parents[2] / "bot" / "music" / "weights.py"
# 1 is song as it is. Lines so drawn surprise more than tunes do, the more so once rare ways on come
# as often as in tunes and the critic looks for them.
SHARPNESS = 1.46
_MOVED_AT = 1.41  # the sharpness at which numbers are moved
_THREE_FOUR = 12
_DRAWN = 500  # lines whose traits are counted in a round
_GROUPS = 400  # of candidates, from which the critic learns to choose
_MEASURE = 16
NEAR = 5.0  # how strongly numbers in minor, with far fewer tunes, are held near those in major


def main() -> None:
    """Fit, write, report."""
    if sys.argv[1:2] == ["drawn"]:
        _show_drawn(*sys.argv[2:])
        return
    corpus = read()
    print(f"{len(corpus.train)} tunes to fit, {len(corpus.left) + len(corpus.right)} held out, ")
    print(f"{corpus.clusters} clusters; left out: {dict(corpus.losses)}")
    numbers = _fit_lines(corpus)
    _forms(corpus)
    numbers = _move(corpus, numbers)
    _fit_critic(windows(corpus.train), numbers)


def _write(numbers: Mapping[str, object], **critics: Mapping[str, float]) -> None:
    """Write the module of weights; a critic that is not there yet notices all and prefers none."""
    nothing = {"critic": _noticed(facts), "rhythm_critic": _noticed(rhythm_facts)}
    WEIGHTS.write_text(weights_text(**{**numbers, **nothing, **critics}), encoding="utf-8")  # type: ignore[arg-type]


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
        "sharpness": [_MOVED_AT] * PHRASE,
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


def _move(corpus: Corpus, numbers: dict[str, object]) -> dict[str, object]:
    """Move the numbers until lines have the traits of tunes as often as tunes have them."""
    counting = moment_fit.Counting(numbers["line"])  # type: ignore[arg-type]
    real = counting.moments(windows(corpus.train))
    fitted = now = moment_fit.Numbers(
        line=numbers["line"], lean=numbers["lean"], measure=numbers["measure"],
        curve=np.array(numbers["curve"]), sharpness=np.array(numbers["sharpness"]),
    )  # type: ignore[arg-type]  # fmt: skip
    for number, size in enumerate(moment_fit.STEP_SIZES):
        _write(numbers | _as_written(now))
        made = counting.moments([line for [line] in _drawn("lines", _DRAWN, number)])
        print(f"round {number}: tones {moment_fit.off(real, made):.3f}", flush=True)
        now = moment_fit.moved(now, real, made, size)
    found = moment_fit.trusted(fitted, now, real)
    sharper = np.round(found.sharpness * SHARPNESS / _MOVED_AT, 2)
    return numbers | _as_written(replace(found, sharpness=sharper))


def _as_written(numbers: moment_fit.Numbers) -> dict[str, object]:
    return {"line": numbers.line, "lean": numbers.lean, "measure": numbers.measure,
            "curve": numbers.curve.tolist(), "sharpness": numbers.sharpness.tolist()}  # fmt: skip


def _fit_critic(tunes: Sequence[Melody], numbers: Mapping[str, object]) -> None:
    """First the rhythm, among as many as the composer draws; then lines over those it keeps."""
    _write(numbers)
    rhythm = fit_rhythm_critic(tunes, _drawn("rhythms", _GROUPS, 0))
    _write(numbers, rhythm_critic=rhythm, critic=_noticed(facts) | rhythm)
    critic = fit_critic(tunes, _drawn("candidates", _GROUPS, 1), rhythm)
    _write(numbers, rhythm_critic=rhythm, critic=critic)
    largest = sorted(critic, key=lambda name: -abs(critic[name]))[:8]
    print("critic: " + ", ".join(f"{name} {critic[name]:+}" for name in largest))


def _drawn(kind: str, count: int, number: int) -> list[list[Melody]]:
    """Groups of lines of the broad level, drawn by an interpreter that reads the numbers afresh."""
    command = [sys.executable, "-m", "tests.fit", "drawn", kind, str(count), str(number)]
    shown = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    return [
        [
            Melody(measure=_MEASURE, length=8 * _MEASURE, notes=tuple(map(tuple, notes)))
            for notes in group
        ]
        for group in json.loads(shown)
    ]


def _show_drawn(kind: str, count: str, number: str) -> None:
    """Print groups of lines: one line each, a line over each of many rhythms, or candidates."""
    maker, seed = Maker(broad_level(), Metre()), 1000 * int(number)
    if kind == "lines":
        groups = [[line] for line in maker.bare(int(count), seed)]
    elif kind == "rhythms":
        with patch.multiple(line_draw, KEPT=line_draw.RHYTHMS, LINES=1):
            groups = list(maker.candidates(int(count), seed))
    else:
        groups = list(maker.candidates(int(count), seed))
    print(json.dumps([[line.notes for line in group] for group in groups]))


if __name__ == "__main__":
    np.seterr(all="raise", under="ignore")
    main()
