"""The colours of the one table: contrast as WCAG 2.2 counts it, in both schemes."""

import re
from pathlib import Path

import pytest

import bot.chat.room

_STATIC = Path(bot.chat.room.__file__).parent / "static"
_TOKENS = (_STATIC / "tokens.css").read_text(encoding="utf-8")
_NAMED = ("paper", "ink", "pencil", "folder", "brass", "correction")
# The table of the look, role by role.
_TABLE = {
    "light": ("#fbf6ea", "#1d1a16", "#645d53", "#20443a", "#8f6420", "#9b2c24"),
    "night": ("#14171a", "#f4ecd8", "#a39b8c", "#6fb39a", "#d9a44e", "#e5877b"),
}


def _block(start: str) -> dict[str, str]:
    """The colours that one rule of the table sets."""
    rule = _TOKENS[_TOKENS.index(start) :].split("{", 1)[1].split("}")[0]
    return dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6});", rule))


_SCHEMES = {
    "light": _block(":root {"),
    "night": _block(':root[data-scheme="night"] {'),
}


def _luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_counted_as_the_standard_does():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    # The darkest grey that still passes for text on white is a well-known landmark.
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("scheme", _TABLE)
def test_the_table_is_the_one_that_was_agreed_on(scheme):
    assert tuple(_SCHEMES[scheme][name] for name in _NAMED) == _TABLE[scheme]


@pytest.mark.parametrize("scheme", _TABLE)
@pytest.mark.parametrize("name", [name for name in _NAMED if name != "paper"])
def test_every_ink_can_be_read_on_its_ground(scheme, name):
    colours = _SCHEMES[scheme]
    assert contrast(colours[name], colours["paper"]) >= 4.5


@pytest.mark.parametrize("scheme", _TABLE)
def test_the_first_button_can_be_read(scheme):
    colours = _SCHEMES[scheme]
    assert contrast(colours["paper"], colours["folder"]) >= 4.5


def test_the_device_that_prefers_the_dark_gets_the_night_that_can_be_chosen():
    assert _block(':root:not([data-scheme="paper"]) {') == _SCHEMES["night"]


def test_no_colour_stands_outside_the_table():
    outside = [
        f"{path.name}: {found}"
        for path in sorted(_STATIC.glob("*.css"))
        if path.name != "tokens.css"
        for found in re.findall(r"#[0-9a-fA-F]{3,8}\b|\brgba?\(|\bhsla?\(", path.read_text("utf-8"))
    ]
    assert outside == []


def test_corners_are_square_but_for_noteheads():
    styles = "".join(path.read_text("utf-8") for path in sorted(_STATIC.glob("*.css")))
    assert set(re.findall(r"border-radius: ([^;]+);", styles)) == {"0", "50%"}


_BASE = ("tokens.css", "room.css")  # on every page; print.css and takehome.css say things anew
_ELSEWHERE = ("print.css", "takehome.css")


def _bare_classes(css: str) -> set[str]:
    """Classes that a sheet gives a look wherever they stand: selectors of one class alone."""
    rules = re.sub(r"/\*.*?\*/", "", css, flags=re.DOTALL)
    selectors = [
        one.strip() for found in re.findall(r"([^{}]+)\{", rules) for one in found.split(",")
    ]
    return {one.removeprefix(".") for one in selectors if re.fullmatch(r"\.[\w-]+", one)}


def test_no_page_gives_a_class_of_all_pages_another_look():
    base = set().union(*(_bare_classes((_STATIC / name).read_text("utf-8")) for name in _BASE))
    assert "sign" in base
    taken = {
        (sheet.name, name)
        for sheet in sorted(_STATIC.glob("*.css"))
        if sheet.name not in (*_BASE, *_ELSEWHERE)
        for name in _bare_classes(sheet.read_text("utf-8")) & base
    }
    assert taken == set()
