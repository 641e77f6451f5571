"""Traditional tunes to be heard inwardly from the page and named: values, and their index.

The index is a TOML text with one table a tune (`content/tunes/tunes.toml` says what is in it); the
music of each is a text of its own, in ABC.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from bot.errors import Fault, InputProblems
from bot.music.exercise import Exercise

_NAME = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_TEXTS = ("title", "country", "free", "history")
_FIELDS = frozenset({*_TEXTS, "also", "century", "printed", "devotional"})
_MEASURES = range(4, 9)
_WIDEST_STEPS = 9  # a tenth, so that some key suits every voice
_CENTURIES = range(1, 22)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tune:
    """The opening of a traditional tune, and what may be told of it once it has been named.

    `also` holds other names, `century` counts from 1 (18 is 1701 to 1800), `printed` is the first
    print or empty, `free` says why anybody may use it.
    """

    id: str
    title: str
    also: tuple[str, ...] = ()
    country: str
    century: int
    printed: str = ""
    free: str
    history: str
    devotional: bool
    exercise: Exercise


def parse_tunes(
    index_text: str,
    abc_texts: Mapping[str, str],
    read_abc: Callable[[str, str], Exercise],
    file: str = "tunes.toml",
) -> tuple[Tune, ...]:
    """Read a collection: `abc_texts` by tune id, `read_abc` reads a text with its file's name.

    Tunes come in the order of the index. InputProblems lists every fault of index and music.
    """
    try:
        tables = tomllib.loads(index_text)
    except tomllib.TOMLDecodeError as error:
        raise InputProblems([Fault(place=file, problem=str(error))]) from error
    faults: list[Fault] = []
    tunes = [_tune(id_, table, abc_texts, read_abc, file, faults) for id_, table in tables.items()]
    for id_ in sorted(set(abc_texts) - set(tables)):
        remedy = f"add [{id_}] to {file}"
        faults.append(
            Fault(place=f"{id_}.abc", problem="the index does not name it", remedy=remedy)
        )
    if faults:
        raise InputProblems(faults)
    return tuple(tune for tune in tunes if tune is not None)


def _tune(
    id_: str,
    table: object,
    abc_texts: Mapping[str, str],
    read_abc: Callable[[str, str], Exercise],
    file: str,
    faults: list[Fault],
) -> Tune | None:
    place = f"{file}: {id_}"
    if not isinstance(table, dict):
        faults.append(Fault(place=place, problem="is no table", remedy="write [name-of-the-tune]"))
        return None
    told = list(_index_faults(id_, table, place))
    exercise = None
    if id_ not in abc_texts:
        told.append(Fault(place=place, problem="has no music", remedy=f"add {id_}.abc"))
    else:
        try:
            exercise = read_abc(abc_texts[id_], f"{id_}.abc")
            told += _music_faults(exercise, f"{id_}.abc")
        except InputProblems as problems:
            told += problems.faults
    faults += told
    if told or exercise is None:
        return None
    return Tune(
        id=id_,
        title=table["title"],
        also=tuple(table.get("also", ())),
        country=table["country"],
        century=table["century"],
        printed=table.get("printed", ""),
        free=table["free"],
        history=table["history"],
        devotional=table["devotional"],
        exercise=exercise,
    )


def _index_faults(id_: str, table: Mapping[str, object], place: str) -> Iterator[Fault]:
    if not _NAME.fullmatch(id_):
        remedy = "lower case letters and digits, parted by hyphens"
        yield Fault(place=place, problem="is no name for a file", remedy=remedy)
    for name in sorted(set(table) - _FIELDS):
        remedy = f"known are {', '.join(sorted(_FIELDS))}"
        yield Fault(place=f"{place}.{name}", problem="is not known", remedy=remedy)
    for name in _TEXTS:
        if not _is_text(table.get(name)):
            yield Fault(place=f"{place}.{name}", problem="needs a text")
    if not isinstance(table.get("printed", ""), str):
        yield Fault(place=f"{place}.printed", problem="needs a text", remedy="or leave it out")
    also = table.get("also", [])
    if not (isinstance(also, list) and all(map(_is_text, also))):
        yield Fault(
            place=f"{place}.also", problem="needs a list of names", remedy="or leave it out"
        )
    century = table.get("century")
    if isinstance(century, bool) or century not in _CENTURIES:
        yield Fault(place=f"{place}.century", problem="needs a number", remedy="18 for the 1700s")
    if not isinstance(table.get("devotional"), bool):
        yield Fault(place=f"{place}.devotional", problem="needs true or false")


def _is_text(value: object) -> bool:
    return isinstance(value, str) and bool(value.strip())


def _music_faults(exercise: Exercise, place: str) -> Iterator[Fault]:
    if len(exercise.parts) > 1:
        yield Fault(place=place, problem="has several parts", remedy="a tune is one line")
    if exercise.measures not in _MEASURES:
        problem = f"has {exercise.measures} measures"
        yield Fault(place=place, problem=problem, remedy="an opening has four to eight")
    steps = [tone.step for tone in exercise.parts[0].tones()]
    if max(steps) - min(steps) > _WIDEST_STEPS:
        yield Fault(place=place, problem="is wider than a tenth", remedy="choose another opening")
