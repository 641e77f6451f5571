"""The texts and sequences that the program runs on, read once at start; where the stories lie."""

from __future__ import annotations

import string
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType

from bot.activities.match_rules import Rules
from bot.activities.match_rules_file import parse_rules
from bot.activities.story_topics import Topic, parse_topics
from bot.errors import Fault, InputProblems
from bot.music.criteria import Criteria
from bot.music.criteria_file import parse_criteria
from bot.music.step import Sequence, parse_sequences
from bot.service.story_shelf import StoryShelf
from bot.wording import Text, Wording, parse_wording


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """Wording of the chosen language, sequences of steps, story files and criteria by their ids.

    Stories are read when they are wanted (`story_files.load_story`): a faulty one is told where it
    is chosen and stops nothing else.
    """

    wording: Wording
    sequences: Mapping[str, Sequence]
    stories: StoryShelf = field(default_factory=lambda: StoryShelf(()))
    topics: tuple[Topic, ...] = ()
    signs: Mapping[str, str] = field(default_factory=dict)
    criteria: Mapping[str, Criteria] = field(default_factory=dict)
    match_rules: Rules = field(default_factory=Rules)
    match_file: str = ""  # the documented one, which ships
    tune_folders: tuple[Path, ...] = ()  # read by tune_book.py when tunes are wanted


def load_content(folders: Iterable[Path], language: str = "en") -> Content:
    """Read content folders; a later one overlays an earlier one, text by text, file by file.

    A folder or a part of it may be missing, but the first one has to have the wording. Raises
    InputProblems with every fault of every file.
    """
    wording: Wording | None = None
    sequences: dict[str, Sequence] = {}
    topics: tuple[Topic, ...] = ()
    signs: dict[str, str] = {}
    criteria: dict[str, Criteria] = {}
    match_rules: list[tuple[str, str]] = []
    faults: list[Fault] = []
    folders = tuple(folders)
    for folder in folders:
        base = wording
        for texts in sorted((folder / "wording" / language).glob("*.toml")):
            try:
                read = parse_wording(_text(texts), language, str(texts))
                if base is not None:
                    _check_overlay(base, read, str(texts))
                wording = read if wording is None else _with(wording, read)
            except InputProblems as problems:
                faults += problems.faults
        for file in sorted((folder / "sequences").glob("*.toml")):
            try:
                read_in = parse_sequences(_text(file), str(file))
                sequences |= {sequence.id: sequence for sequence in read_in}
            except InputProblems as problems:
                faults += problems.faults
        criteria |= _criteria(folder, faults)
        topics += _topics(folder, faults)
        signs |= {file.stem: _text(file) for file in sorted((folder / "signs").glob("*.svg"))}
        match_rules += [(_text(file), str(file)) for file in (folder / "match").glob("rules.toml")]
    rules = _match_rules(match_rules, faults)
    if wording is None and not faults:
        faults.append(Fault(place=f"wording/{language}/*.toml", problem="no such file"))
    if faults or wording is None:
        raise InputProblems(faults)
    return Content(
        wording=wording,
        sequences=MappingProxyType(sequences),
        stories=StoryShelf(folders),
        topics=topics,
        signs=MappingProxyType(signs),
        criteria=MappingProxyType(criteria),
        match_rules=rules,
        match_file=match_rules[0][0] if match_rules else "",
        tune_folders=tuple(folder / "tunes" for folder in folders),
    )


def _match_rules(texts: list[tuple[str, str]], faults: list[Fault]) -> Rules:
    try:
        return parse_rules(texts) if texts else Rules()
    except InputProblems as problems:
        faults += problems.faults
        return Rules()


def _criteria(folder: Path, faults: list[Fault]) -> dict[str, Criteria]:
    found: dict[str, Criteria] = {}
    for file in sorted((folder / "criteria").glob("*.toml")):
        try:
            read = parse_criteria(_text(file), str(file))
            found[read.id] = read
        except InputProblems as problems:
            faults += problems.faults
    return found


def _topics(folder: Path, faults: list[Fault]) -> tuple[Topic, ...]:
    found: tuple[Topic, ...] = ()
    for file in sorted((folder / "topics").glob("*.toml")):
        try:
            found += parse_topics(_text(file), str(file))
        except InputProblems as problems:
            faults += problems.faults
    return found


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        fault = Fault(place=str(file), problem="is not UTF-8", remedy="save it as UTF-8 text")
        raise InputProblems([fault]) from error


def _check_overlay(base: Wording, over: Wording, file: str) -> None:
    """Each text of `over` has to fit where one of `base` stands."""
    faults = []
    for key, text in over.texts.items():
        place = f"{file}: {key}"
        if key not in base.texts:
            faults.append(Fault(place=place, problem="there is no such text"))
        elif surplus := _gaps(text) - _gaps(base.texts[key]):
            problem = f"the gap {{{min(surplus)}}} is never filled here"
            faults.append(Fault(place=place, problem=problem))
        elif isinstance(text, str) is not isinstance(base.texts[key], str):
            faults.append(Fault(place=place, problem="plural forms differ from ours"))
    if faults:
        raise InputProblems(faults)


def _with(wording: Wording, more: Wording) -> Wording:
    return replace(wording, texts=MappingProxyType({**wording.texts, **more.texts}))


def _gaps(text: Text) -> set[str]:
    forms = [text] if isinstance(text, str) else list(text.values())
    return {gap for form in forms for _, gap, _, _ in string.Formatter().parse(form) if gap}
