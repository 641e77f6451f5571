"""The rules of a match as fields of a form: read with all faults at once, and written back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from bot.activities.match_rules import (
    LENGTHS,
    LONGEST_NAME,
    SECONDS,
    WHOLE,
    Breach,
    CardWhen,
    Ending,
    Rules,
    Stand,
    breaches,
)
from bot.errors import InputProblems
from bot.service.form_fields import FormFields
from bot.wording import Wording

STUDY = tuple(f"study_{length}" for length in LENGTHS)
# The form in its order: what stands together under one heading.
GROUPS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "turns": ("turns", *STUDY),
        "points": ("phrases", "read", "nearly", "good"),
        "throws": ("group_least", "group_most", "throws"),
        "listening": ("claims", "claim"),
        "sides": ("left", "right", "stand"),
        "end": ("ending", "card"),
    }
)
FIELDS = tuple(name for names in GROUPS.values() for name in names)
# Fields that a breach is about: where one of them is faulty itself, there is no more to say.
_ABOUT: Mapping[Breach, frozenset[str]] = MappingProxyType(
    {
        Breach.PHRASES: frozenset({"phrases", *STUDY}),
        Breach.NEARLY: frozenset({"nearly", "read"}),
        Breach.GOOD: frozenset({"good", "phrases", "read"}),
        Breach.AIM: frozenset({"throws", "phrases", "read"}),
        Breach.GROUP: frozenset({"group_least", "group_most"}),
        Breach.NAMES: frozenset({"left", "right"}),
    }
)


def read_rules(form: Mapping[str, Sequence[str]], say: Wording, usual: Rules) -> Rules:
    """What was typed; an empty field is `usual`'s, an empty time takes its length off the offer.

    InputProblems with every fault, the field's name as place.
    """
    fields = FormFields(form, say)
    given = rules_fields(usual)
    whole = {
        name: fields.whole(name, least, most, int(given[name][0])) or 0
        for name, (least, most) in WHOLE.items()
    }
    rules = Rules(
        **{name: number for name, number in whole.items() if not name.startswith("group")},
        group=(whole["group_least"], whole["group_most"]),
        study=_study(fields),
        stand=fields.one_of("stand", Stand, usual.stand),
        ending=fields.one_of("ending", Ending, usual.ending),
        card=fields.one_of("card", CardWhen, usual.card),
        left=fields.short_text("left", LONGEST_NAME, usual.left),
        right=fields.short_text("right", LONGEST_NAME, usual.right),
    )
    faulty = {fault.place for fault in fields.faults}
    for place, breach in breaches(rules).items():
        if not _ABOUT[breach] & faulty:
            words = f"match.rules.fault.{breach}"
            fields.fault(place, say(words, most=rules.most, read=rules.read, group=rules.group[1]))
    if fields.faults:
        raise InputProblems(fields.faults)
    return rules


def rules_fields(rules: Rules) -> dict[str, list[str]]:
    """The fields that `read_rules` reads back as these rules."""
    numbers = {name: getattr(rules, name) for name in WHOLE if not name.startswith("group")}
    numbers |= {"group_least": rules.group[0], "group_most": rules.group[1]}
    times = {name: rules.study.get(length, "") for name, length in zip(STUDY, LENGTHS, strict=True)}
    texts = {
        "stand": rules.stand,
        "ending": rules.ending,
        "card": rules.card,
        "left": rules.left,
        "right": rules.right,
    }
    return {name: [str(value)] for name, value in {**numbers, **times, **texts}.items()}


def _study(fields: FormFields) -> Mapping[int, int]:
    found = {
        length: fields.whole(name, *SECONDS, None)
        for name, length in zip(STUDY, LENGTHS, strict=True)
    }
    if not any(map(fields.given, STUDY)):
        fields.fault(STUDY[0], fields.say("match.rules.no_length"))
    return MappingProxyType({length: time for length, time in found.items() if time is not None})
