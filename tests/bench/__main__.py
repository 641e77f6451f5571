"""Run the benches named, or all of them, and print one table."""

from __future__ import annotations

import argparse
import importlib
from pathlib import Path


def main() -> None:
    """Print a table a bench: the figure, and its multiple of the bench's first line."""
    names = sorted(
        path.stem.removeprefix("bench_") for path in Path(__file__).parent.glob("bench_*.py")
    )
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=main.__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"of {', '.join(names)}")
    chosen = parser.parse_args().names or names
    if unknown := sorted(set(chosen) - set(names)):
        parser.error(f"no bench {', '.join(unknown)}: there are {', '.join(names)}")
    for name in chosen:
        figures = importlib.import_module(f"tests.bench.bench_{name}").run()
        print(f"\n{name}")
        for line in table(figures):
            print(f"  {line}")


def table(figures: dict[str, float]) -> list[str]:
    """Lines with aligned columns; seconds become milliseconds and multiples of the first."""
    width = max(len(what) for what in figures)
    first = next(iter(figures.values()))
    return [f"{what:<{width}}  {_shown(what, figure, first)}" for what, figure in figures.items()]


def _shown(what: str, figure: float, first: float) -> str:
    if what.endswith("[MB]"):
        return f"{figure:9.1f} MB"
    if what.endswith("[1]"):
        return f"{figure:9.3f}"
    if what.endswith("[x]"):
        return f"{figure:9.2f} x"
    return f"{figure * 1000:9.1f} ms {figure / first:8.2f} x"


if __name__ == "__main__":
    main()
