"""The voices of a choir in its form: which there are, their public labels, ranges and clefs."""

from __future__ import annotations

from collections.abc import Sequence

from bot.activities.choir import ChoirVoice
from bot.music.pitch import Pitch
from bot.music.voice import DEFAULT_RANGES, Clef, Voice, VoiceRange
from bot.service.form_fields import FormFields
from bot.service.part_clefs import DEFAULT_CLEFS

LABEL_LIMIT = 30  # characters
_NUMERALS = ("I", "II", "III", "IV", "V", "VI")


def read_voices(fields: FormFields) -> tuple[ChoirVoice, ...]:
    """The voices that were chosen, the highest first; faults go to `fields`."""
    chosen = fields.some_of("voices", Voice)
    if not chosen:
        fields.fault("voices", fields.say("choir.fault.voices"))
    labels = _labels(fields, chosen)
    return tuple(
        ChoirVoice(
            voice=voice,
            label=label,
            range=_range(fields, voice),
            clef=fields.one_of(f"clef_{voice.value}", Clef, DEFAULT_CLEFS[voice]),
        )
        for voice, label in zip(chosen, labels, strict=True)
    )


def voice_fields(voices: Sequence[ChoirVoice]) -> dict[str, list[str]]:
    """The fields that `read_voices` reads back as these voices.

    A clef is chosen from a list, which has no empty place: a voice that the choir has not yet
    stands there with its usual one, or the form would hand on the first of the list for it.
    """
    fields = {f"clef_{voice.value}": [clef.value] for voice, clef in DEFAULT_CLEFS.items()}
    fields["voices"] = [voice.voice.value for voice in voices]
    for voice in voices:
        name, limits = voice.voice.value, voice.range
        fields[f"label_{name}"] = [voice.label]
        fields[f"low_{name}"] = [limits.low.plain]
        fields[f"high_{name}"] = [limits.high.plain]
        fields[f"tess_low_{name}"] = [limits.tessitura_low.plain]
        fields[f"tess_high_{name}"] = [limits.tessitura_high.plain]
        fields[f"clef_{name}"] = [voice.clef.value]
    return fields


def _labels(fields: FormFields, chosen: Sequence[Voice]) -> list[str]:
    """One label a voice, all different; empty ones take the first Part I, II, III that is free."""
    typed = {voice: fields.short_text(f"label_{voice.value}", LABEL_LIMIT) for voice in chosen}
    taken = {label.casefold() for label in typed.values() if label}
    numbered = [fields.say("choir.part", numeral=numeral) for numeral in _NUMERALS]
    free = iter([label for label in numbered if label.casefold() not in taken])
    labels: list[str] = []
    for voice in chosen:
        label = typed[voice] or next(free)
        if label.casefold() in (earlier.casefold() for earlier in labels):
            fields.fault(f"label_{voice.value}", fields.say("choir.fault.label_twice"))
        labels.append(label)
    return labels


def _range(fields: FormFields, voice: Voice) -> VoiceRange:
    """The four limits; an easy range that was left empty follows limits that were narrowed."""
    usual, name = DEFAULT_RANGES[voice], voice.value

    def pitch(field: str, default: Pitch) -> Pitch:
        problem = fields.say("choir.fault.pitch", example=default.plain)
        return fields.parsed(f"{field}_{name}", Pitch.parse, default, problem)

    low, high = pitch("low", usual.low), pitch("high", usual.high)
    easy_low = pitch("tess_low", max(usual.tessitura_low, low))
    easy_high = pitch("tess_high", min(usual.tessitura_high, high))
    try:
        return VoiceRange(low=low, high=high, tessitura_low=easy_low, tessitura_high=easy_high)
    except ValueError:
        fields.fault(f"low_{name}", fields.say("choir.fault.range"))
        return usual
