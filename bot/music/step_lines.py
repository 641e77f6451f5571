"""What lines keep to from a pitch step on, read from the [[line]] tables of a sequence file."""

from __future__ import annotations

from bot.music.exercise import Tone
from bot.music.pitch import Mode
from bot.music.sequence import Climax, Conditions, Interval, Sequence
from bot.music.syllable import tone_of, word_of
from bot.music.table_reader import TableReader
from bot.music.toml_lines import Table


def conditions_of(
    tables: tuple[Table, ...], pitch: tuple[str, ...], reader: TableReader
) -> tuple[tuple[str, Conditions], ...]:
    """The conditions of every [[line]] and the pitch step from which they hold; `pitch` are all.

    What an entry leaves out is as in the one before it.
    """
    found: list[tuple[str, Conditions]] = []
    keys = ("start", "end", "cadence", "half_cadence", "measures")
    for table in tables:
        reader.only(table, "from", "mode", "without", "upbeat", "climax", "peak", *keys)
        start = reader.start(table, pitch)
        before = found[-1][1] if found else None
        if before is None and (missing := [key for key in keys if key not in table.values]):
            reader.fault(table.place, f"{', '.join(missing)} missing", "the first [[line]] has all")
            continue
        if before is None and start != pitch[0]:
            reader.fault(table.at("from"), f"from {start!r}", f"the first is from {pitch[0]!r}")
        found.append((start, _condition(table, before, reader)))
    return tuple(found)


def _condition(table: Table, before: Conditions | None, reader: TableReader) -> Conditions:
    def tones(key: str, inherited: tuple[Tone, ...]) -> tuple[Tone, ...]:
        if key not in table.values:
            return inherited
        words = reader.strings(table, key)
        return tuple(t for word in words if (t := reader.parsed(table, key, word, tone_of)))

    end = before.end if before else Tone(step=0)
    if "end" in table.values:
        end = reader.parsed(table, "end", reader.text(table, "end"), tone_of) or end
    mode = before.mode if before else Mode.MAJOR
    if "mode" in table.values:
        mode = reader.choice(table, "mode", Mode) or mode
    climax = before.climax if before else Climax.ANY
    if "climax" in table.values:
        climax = reader.choice(table, "climax", Climax) or climax
    peak = before.peak if before else None
    if "peak" in table.values:
        peak = reader.choice(table, "peak", Interval) or peak
    measures = before.measures if before else ()
    if "measures" in table.values:
        measures = _lengths(table, reader)
    return Conditions(
        start=tones("start", before.start if before else ()),
        half_cadence=tones("half_cadence", before.half_cadence if before else ()),
        cadence=tones("cadence", before.cadence if before else ()),
        end=end,
        measures=measures,
        mode=mode,
        without=tones("without", before.without if before else ()),
        upbeat=tones("upbeat", before.upbeat if before else ()),
        climax=climax,
        peak=peak,
    )


def _lengths(table: Table, reader: TableReader) -> tuple[tuple[int, int], ...]:
    found = []
    for name, often in reader.table(table, "measures").items():
        if name not in ("4", "8") or type(often) is not int or often < 1:
            remedy = "4 or 8 measures, each with how often it comes, such as { 4 = 1, 8 = 2 }"
            reader.fault(table.at("measures"), f"{name} = {often!r}", remedy)
        else:
            found.append((int(name), often))
    return tuple(found)


def high_points(sequence: Sequence, tables: tuple[Table, ...], reader: TableReader) -> None:
    """Where lines have one high point there is a tone for it, high enough above the last."""
    for table, (start, kept) in zip(tables, sequence.conditions, strict=True):
        known = [step.element for step in sequence.up_to(sequence.step(start))]
        tones = {tone for each in known for tone in (*each.tones, *each.through)}
        highest = max(tones - set(kept.without), default=kept.end).step
        above = kept.peak.steps if kept.peak else 1
        if kept.climax is Climax.ONCE and highest < kept.end.step + above:
            remedy = "one high point is above the last tone: ask for it from a later step on"
            far = f"a {kept.peak} above" if kept.peak else "above"
            problem = f"no tone {far} {word_of(kept.end)} is known at {start}"
            asks = [key for key in ("climax", "peak") if key in table.values]
            reader.fault(table.at(asks[0] if asks else "from"), problem, remedy)
