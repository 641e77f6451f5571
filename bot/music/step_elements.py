"""What a step adds, resolved: from `adds = { ... }` to tones, skips, cells and metres."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

from bot.music.cell import Cell
from bot.music.exercise import Tone
from bot.music.leading import by_step, height
from bot.music.pitch import Mode
from bot.music.rhythm import Metre
from bot.music.sequence import Element, Interval, Kind, Skip, Track
from bot.music.syllable import tone_of, word_of
from bot.music.table_reader import TableReader
from bot.music.texture import Texture
from bot.music.toml_lines import Table

_CHORDS = {"I": (0, 2, 4), "IV": (3, 5, 0), "V": (4, 6, 1)}
# Intervals that a line may leap, in semitones: no tritone, no seventh, nothing augmented.
_SINGABLE = {3, 4, 5, 7, 8, 9, 12}
_OCTAVE, _OCTAVE_DEGREES = 7, (0, 4)  # an octave is leapt between dos and between sos
_ALLOWED_BESIDE = {
    Kind.TONES: {"by"},
    Kind.TONE: {"by", "through"},
    Kind.METRE: {"filled_by", "beat"},
    Kind.CELLS: {"metre"},
}


class Known:
    """What earlier steps have taught, while a file is read."""

    def __init__(self, cells: dict[str, Cell]) -> None:
        self.cells = cells
        self.tones: list[Tone] = []
        self.skips: set[Skip] = set()
        self.taught: set[str] = set()
        self.metres: list[Metre] = []
        self.minor = False
        self.pickup: Cell | None = None
        self.held = False
        self.track, self.step, self.plain = Track.PITCH, "", False

    def enter(self, track: Track, step: str, *, plain: bool) -> None:
        """Begin to read a step."""
        self.track, self.step, self.plain = track, step, plain

    def add(self, element: Element) -> None:
        """Take what a step adds into what is known."""
        self.tones += [*element.tones, *element.through]
        self.skips |= set(element.skips)
        self.taught |= {cell.text for cell in element.cells}
        if element.metre:
            self.metres.append(element.metre)


def element_of(table: Table, known: Known, reader: TableReader) -> Element:
    """Read `adds` of one step; faults go to the reader."""
    adds = reader.table(table, "adds")
    at = table.at("adds")
    kinds = [kind for kind in _kinds(adds) if kind in list(Kind)]
    strange = sorted(set(adds) - set(Kind) - {"by", "through", "filled_by", "beat"})
    if len(kinds) != 1 or strange:
        said = ", ".join([*kinds, *strange]) or "nothing"
        remedy = f"exactly one of {', '.join(Kind)}"
        reader.fault(at, f"adds {said}", remedy)
        return Element(kind=Kind.TONES)
    kind = Kind(kinds[0])
    for word in sorted(set(adds) - {kind} - _ALLOWED_BESIDE.get(kind, set())):
        reader.fault(at, f"{word!r} does not go with {kind!s}", "leave it out")
    inner = Table(values=adds, place=at, places=dict.fromkeys(adds, at))
    element = _READERS[kind](inner, known, reader)
    known.add(element)
    return element


def _kinds(adds: object) -> list[str]:
    assert isinstance(adds, dict)
    # The metre that the first cells stand in is no element beside them.
    return [name for name in adds if not (name == Kind.METRE and Kind.CELLS in adds)]


def _tones(table: Table, known: Known, reader: TableReader) -> Element:
    words = reader.strings(table, "tones")
    tones = [t for word in words if (t := reader.parsed(table, "tones", word, tone_of))]
    if known.tones:
        reader.fault(table.place, "tones only begin the track", "add one tone a step")
    by = _skip(table, "by", [], tuple(tones), reader) if "by" in table.values else None
    return Element(kind=Kind.TONES, tones=tuple(tones), skips=(by,) if by else ())


def _tone(table: Table, known: Known, reader: TableReader) -> Element:
    tone = reader.parsed(table, "tone", reader.text(table, "tone"), tone_of) or Tone(step=0)
    by = (_skip(table, "by", known.tones, (tone,), reader),) if "by" in table.values else ()
    skips = tuple(skip for skip in by if skip)
    words = reader.strings(table, "through")
    through = [t for word in words if (t := reader.parsed(table, "through", word, tone_of))]
    known_degrees = {(each.step % 7, each.alter) for each in [*known.tones, tone]}
    for each in through:
        if (each.step % 7, each.alter) not in known_degrees:
            problem = f"{word_of(each)} is a second new tone"
            reader.fault(table.place, problem, "`through` names octaves of known tones")
    if tone in known.tones:
        reader.fault(table.place, f"{word_of(tone)} is known already", "add another tone")
    near = any(by_step(tone, each) for each in [*known.tones, *through])
    if not skips and not near:
        problem = f"no known tone lies a step from {word_of(tone)}"
        reader.fault(table.place, problem, 'name its skip, such as by = "mi-so"')
    return Element(kind=Kind.TONE, tones=(tone,), through=tuple(through), skips=skips)


def _one_skip(table: Table, known: Known, reader: TableReader) -> Element:
    skip = _skip(table, "skip", known.tones, (), reader)
    if skip in known.skips:
        reader.fault(table.place, f"{table.values['skip']} is known already", "add another skip")
    return Element(kind=Kind.SKIP, skips=(skip,) if skip else ())


def _skip(
    table: Table, key: str, known: list[Tone], new: tuple[Tone, ...], reader: TableReader
) -> Skip | None:
    text = reader.text(table, key)
    words = text.split("-")
    if len(words) != 2:
        reader.fault(table.place, f"{text!r} is no skip", "two tones such as do-mi, lower first")
        return None
    low, high = (reader.parsed(table, key, word, tone_of) for word in words)
    if low is None or high is None:
        return None
    for tone in (low, high):
        if tone not in known and tone not in new:
            problem = f"{word_of(tone)} of {text} is not known yet"
            reader.fault(table.place, problem, "add the tone first")
    if height(high) - height(low) not in _SINGABLE:
        remedy = "a third, fourth, fifth, sixth or octave, lower tone first"
        reader.fault(table.place, f"{text} is no skip that a line may have", remedy)
        return None
    return low, high


def _chord(table: Table, known: Known, reader: TableReader) -> Element:
    name = reader.text(table, "chord")
    degrees = _CHORDS.get(name, ())
    if not degrees:
        reader.fault(table.place, f"no chord {name!r}", f"one of {', '.join(_CHORDS)}")
    skips = [
        (low, high)
        for low, high in _new_skips(known, {2})
        if low.step % 7 in degrees and high.step % 7 in degrees
    ]
    return _skips(Kind.CHORD, skips, table, reader)


def _intervals(table: Table, known: Known, reader: TableReader) -> Element:
    names = reader.strings(table, "intervals")
    for name in names:
        if name not in list(Interval):
            reader.fault(table.place, f"no interval {name!r}", f"one of {', '.join(Interval)}")
    sizes = {each.steps for each in Interval if each in names}
    return _skips(Kind.INTERVALS, _new_skips(known, sizes), table, reader)


def _new_skips(known: Known, sizes: set[int]) -> list[Skip]:
    tones = sorted(tone for tone in known.tones if not tone.alter)
    return [
        (low, high)
        for low, high in combinations(tones, 2)
        if high.step - low.step in sizes
        and height(high) - height(low) in _SINGABLE
        and (high.step - low.step != _OCTAVE or low.step % 7 in _OCTAVE_DEGREES)
        and (low, high) not in known.skips
    ]


def _skips(kind: Kind, skips: list[Skip], table: Table, reader: TableReader) -> Element:
    if not skips:
        reader.fault(table.place, "adds no skip between the tones known so far", "add tones first")
    return Element(kind=kind, skips=tuple(skips))


def _cells(table: Table, known: Known, reader: TableReader) -> Element:
    texts = reader.strings(table, "cells")
    first = not known.taught
    if not first and (
        len(texts) > 2 or len({tuple(sorted(t.split())) for t in texts}) > 1 or not texts
    ):
        problem = f"adds {len(texts)} different cells"
        reader.fault(table.place, problem, "one cell, or the two orders of one")
    metre = None
    if "metre" in table.values:
        metre = reader.parsed(table, "metre", reader.text(table, "metre"), Metre.parse)
    if first is not (metre is not None):
        reader.fault(table.place, "a metre beside cells", "the first rhythm step alone has both")
    cells = tuple(cell for text in texts if (cell := _teach(text, table, known, reader)))
    return Element(kind=Kind.CELLS, cells=cells, metre=metre)


def _teach(text: str, table: Table, known: Known, reader: TableReader) -> Cell | None:
    cell = known.cells.get(text)
    if cell is None:
        reader.fault(table.place, f"no [[cell]] with notes {text!r}", "describe it")
        return None
    if text in known.taught:
        reader.fault(table.place, f"{text!r} is known already", "add another cell")
    return replace(cell, step=known.step, plain=known.plain)


def _metre(table: Table, known: Known, reader: TableReader) -> Element:
    metre = reader.parsed(table, "metre", reader.text(table, "metre"), Metre.parse)
    if metre in known.metres:
        reader.fault(table.place, f"{metre} is known already", "add another metre")
    cells = []
    for key in ("filled_by", "beat"):
        if key in table.values and metre is not None:
            length = metre.measure if key == "filled_by" else metre.pulse
            text = reader.text(table, key)
            cell = known.cells.get(text)
            if cell is None or cell.duration != length or len(cell.notes) > 1:
                what = "measure" if key == "filled_by" else "beat"
                remedy = f"name a [[cell]] of one note as long as the {what}"
                reader.fault(table.place, f"{text!r} does not fill a {what} of {metre}", remedy)
            else:
                cells.append(replace(cell, step=known.step, plain=known.plain))
    return Element(kind=Kind.METRE, metre=metre, cells=tuple(cells))


def _mode(table: Table, known: Known, reader: TableReader) -> Element:
    mode = reader.choice(table, "mode", Mode)
    if mode is Mode.MAJOR or known.minor:
        reader.fault(table.place, f"{mode} is known already", "add another thing")
    known.minor = True
    return Element(kind=Kind.MODE, mode=mode)


def _pickup(table: Table, known: Known, reader: TableReader) -> Element:
    text = reader.text(table, "pickup")
    cell = known.cells.get(text)
    if text not in known.taught or cell is None or len(cell.notes) > 1 or cell.notes[0].rest:
        remedy = "one note that is known, such as q"
        reader.fault(table.place, f"a pickup of {text!r}", remedy)
    if known.pickup:
        reader.fault(table.place, "a pickup is known already", "add another thing")
    known.pickup = cell
    return Element(kind=Kind.PICKUP, pickup=cell)


def _held(table: Table, known: Known, reader: TableReader) -> Element:
    cells = []
    for text in reader.strings(table, "held"):
        cell = known.cells.get(text)
        if text not in known.taught or cell is None or len(cell.notes) > 1 or cell.notes[0].rest:
            reader.fault(table.place, f"held over the bar line {text!r}", "notes that are known")
        else:
            cells.append(replace(cell, step=known.step))
    if not cells or known.held:
        problem = "notes are held already" if known.held else "no note to hold over the bar line"
        reader.fault(table.place, problem, 'notes that are known, such as ["q", "h"], once')
    known.held = known.held or bool(cells)
    return Element(kind=Kind.HELD, held=tuple(cells))


def _texture(table: Table, known: Known, reader: TableReader) -> Element:
    return Element(kind=Kind.TEXTURE, texture=reader.choice(table, "texture", Texture))


_READERS = {
    Kind.TONES: _tones,
    Kind.TONE: _tone,
    Kind.SKIP: _one_skip,
    Kind.CHORD: _chord,
    Kind.INTERVALS: _intervals,
    Kind.CELLS: _cells,
    Kind.METRE: _metre,
    Kind.TEXTURE: _texture,
    Kind.MODE: _mode,
    Kind.PICKUP: _pickup,
    Kind.HELD: _held,
}
