"""`riserbell story`: an author's way from words to a class: new, check, map, preview, pdf, html."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bot.cli.options import WRONG_INPUT, OneLineParser, content_of, data_option

if TYPE_CHECKING:
    from bot.activities.story_music import SetStory
    from bot.service.content import Content
    from bot.service.story_files import LoadedStory

_EXAMPLE = Path("stories") / "example" / "the-gate.toml"


def add(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    """Add the commands for branching stories."""
    story = commands.add_parser("story", help="write a branching story: new, check, map, ...")
    actions = story.add_subparsers(required=True, metavar="ACTION")

    new = actions.add_parser("new", help="a small story to change")
    new.add_argument("file", type=Path, metavar="FILE")
    new.set_defaults(run=_new)

    check = _action(actions, "check", "every fault and warning, with file and line")
    check.add_argument("--json", action="store_true", help="for other programs")
    check.add_argument("--music", action="store_true", help="compose it too, with every end")
    check.set_defaults(run=_check)

    draw = _action(actions, "map", "scenes and paths as a picture")
    draw.add_argument("--out", type=Path, metavar="FILE", help="an .svg or .png; default: ID.svg")
    draw.set_defaults(run=_map)

    preview = _action(actions, "preview", "compose it: a picture of every line and every end")
    preview.add_argument("--out", required=True, type=Path, metavar="DIR")
    preview.set_defaults(run=_preview)

    for kind, told in (("pdf", "the whole story on paper"), ("html", "as one page to take home")):
        book = _action(actions, kind, told)
        book.add_argument("--out", type=Path, metavar="FILE", help=f"default: ID.{kind}")
        book.set_defaults(run=_pdf if kind == "pdf" else _html)
        if kind == "pdf":
            book.add_argument("--large", action="store_true", help="in large print")
    for each in ("preview", "pdf", "html"):
        actions.choices[each].add_argument("--seed", type=int, default=0, help="other music")


def _action(
    actions: argparse._SubParsersAction[OneLineParser], name: str, told: str
) -> OneLineParser:
    parser = actions.add_parser(name, help=told)
    parser.add_argument("story", metavar="STORY", help="a file, or the name of a story")
    data_option(parser)
    return parser


def _new(options: argparse.Namespace) -> int:
    from bot.errors import Fault, InputProblems
    from bot.settings import content_root

    file: Path = options.file
    if file.exists():
        raise InputProblems([Fault(place=str(file), problem="is there already")])
    file.write_text((content_root() / _EXAMPLE).read_text(encoding="utf-8"), encoding="utf-8")
    print(file)
    return 0


def _check(options: argparse.Namespace) -> int:
    import json

    from bot.errors import InputProblems
    from bot.service.story_checking import check_loaded, unread_report
    from bot.service.story_setting import composed_report

    content = content_of(options)
    try:
        loaded = _loaded(options, content)
        report = check_loaded(loaded, content)
        if options.music and report.sound:
            report = composed_report(report, loaded, content)
    except InputProblems as problems:
        report_tree = unread_report(problems)
        lines = [str(fault) for fault in problems.faults]
        sound = False
    else:
        report_tree, sound = report.tree(), report.sound
        warned = content.wording("story.check.warning", what="").strip()
        lines = [
            f"{each.fault.place}: {warned} " + str(each.fault).removeprefix(f"{each.fault.place}: ")
            if each.warning
            else str(each.fault)
            for each in report.findings
        ]
        if sound:
            lines.append(content.wording("story.check.sound", **_figures(report_tree)))
    print(
        json.dumps(report_tree, indent=1, ensure_ascii=False) if options.json else "\n".join(lines)
    )
    return 0 if sound else WRONG_INPUT


def _figures(tree: dict[str, object]) -> dict[str, object]:
    minutes, endings = tree["minutes"], tree["endings"]
    assert isinstance(minutes, list)
    assert isinstance(endings, list)
    return {
        "title": tree["title"],
        "scenes": tree["scenes"],
        "endings": len(endings),
        "ways": tree["paths"],
        "least": round(minutes[0]),
        "most": round(minutes[1]),
    }


def _map(options: argparse.Namespace) -> int:
    from bot.notation.engrave import png
    from bot.service.story_map import story_map_svg

    content = content_of(options)
    story = _loaded(options, content).story
    out: Path = options.out or Path(f"{story.id}.svg")
    drawing = story_map_svg(story, content.wording)
    out.write_bytes(png(drawing, 1920) if out.suffix == ".png" else drawing.encode())
    print(out)
    return 0


def _preview(options: argparse.Namespace) -> int:
    from bot.service.story_preview import write_preview

    content, told = _set(options)
    for path in write_preview(told, content, options.out):
        print(path)
    return 0


def _pdf(options: argparse.Namespace) -> int:
    from bot.service.story_book import story_book
    from bot.service.story_print import printed_story

    content, told = _set(options)
    out: Path = options.out or Path(f"{told.story.id}.pdf")
    book = story_book(told, content)
    out.write_bytes(printed_story(book, content.wording, large=options.large))
    print(out)
    return 0


def _html(options: argparse.Namespace) -> int:
    from bot.chat.room.assets import load_assets
    from bot.chat.room.pages import load_pages
    from bot.chat.room.story_page import story_page
    from bot.service.story_book import story_book

    content, told = _set(options)
    out: Path = options.out or Path(f"{told.story.id}.html")
    assets = load_assets()
    pages = load_pages(content.wording, assets, demo=False)
    out.write_bytes(story_page(story_book(told, content), pages, assets))
    print(out)
    return 0


def _loaded(options: argparse.Namespace, content: Content) -> LoadedStory:
    """A story by its file, or by its name among the program's and the director's own."""
    from bot.service.story_files import load_story, story_of

    file = Path(options.story)
    return load_story(file) if file.is_file() else story_of(content, options.story)


def _set(options: argparse.Namespace) -> tuple[Content, SetStory]:
    """A sound story, composed for the usual ranges of its voices; InputProblems with its faults."""
    from bot.errors import InputProblems
    from bot.service.story_checking import check_loaded
    from bot.service.story_setting import ranges_of, set_story

    content = content_of(options)
    loaded = _loaded(options, content)
    report = check_loaded(loaded, content)
    if not report.sound:
        raise InputProblems(each.fault for each in report.findings if not each.warning)
    return content, set_story(loaded, content, ranges_of(loaded.story.voices), seed=options.seed)
