"""How like folk tunes the lines are, against tunes that no number was fitted on.

Floors are what real tunes of the training part reach; distances and areas below them mean nothing.
"""

from __future__ import annotations

from bot.music.rhythm import Metre
from tests.fit.broad import Maker, broad_level, teaching_level
from tests.fit.corpus import Corpus, read
from tests.fit.figures import Bench, bench, evaluate
from tests.fit.melody import Melody

_LINES = 300
_COLUMNS = (
    "notes", "bits pitch", "bits rhythm", "JS interval", "JS degree", "JS degree x metre",
    "JS bar rhythm", "unrecovered", "runs of 4", "rhBar", "exBar", "g3", "ti left", "tritones",
    "shared 12", "AUC", "AUC2",
)  # fmt: skip


def run() -> dict[str, float]:
    """Print every figure of real tunes, the broad level bare and chosen, two steps; return some."""
    corpus = read()
    broad = bench(corpus)
    rows = {
        "real held-out": evaluate(broad, broad.test, itself=True),
        "real train (floor)": evaluate(broad, broad.train),
    }
    maker = Maker(broad_level(), Metre())
    rows["broad, bare"] = evaluate(broad, maker.bare(_LINES, seed=50_000))
    rows["broad, critic"] = evaluate(broad, maker.chosen(_LINES, seed=60_000))
    for ids in (("p09", "r09"), ("p15", "r16")):
        rows |= _teaching(corpus, *ids)
    _print(rows)
    return {
        f"{row}: {name} [1]": figures[name]
        for row, figures in rows.items()
        for name in ("bits pitch", "bits rhythm", "AUC", "AUC2")
        if name in figures
    }


def _teaching(corpus: Corpus, *ids: str) -> dict[str, dict[str, float]]:
    """Lines of a step as a choir gets them, against all held-out tunes of its tones."""
    level = teaching_level(*ids)
    tones = {tone.step for tone in level.tones}

    def fits(melody: Melody) -> bool:
        return set(melody.steps) <= tones

    held: Bench = bench(corpus, keep=fits)
    made = Maker(level, Metre()).chosen(_LINES, seed=70_000)
    name = " ".join(ids)
    return {
        f"{name} real ({len(held.test)})": evaluate(held, held.test, itself=True),
        f"{name} made": evaluate(held, made),
    }


def _print(rows: dict[str, dict[str, float]]) -> None:
    width = max(map(len, rows))
    print(" " * width, *(f"{name:>{max(len(name), 6)}}" for name in _COLUMNS))
    for row, figures in rows.items():
        shown = (
            f"{figures[name]:{max(len(name), 6)}.3f}"
            if name in figures
            else " " * max(len(name), 6)
            for name in _COLUMNS
        )
        print(f"{row:{width}}", *shown)
