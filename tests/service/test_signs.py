"""Hand signs: one drawing a tone, in one ink, its height told by the guide, clear when small."""

import io
import re
import xml.etree.ElementTree as ET

import pytest
import resvg_py
from PIL import Image, ImageChops

from bot.activities.sign import SIGNS, sign_name
from bot.music.exercise import Tone
from bot.music.syllable import tone_of
from bot.service.content import load_content
from bot.service.signs import missing_signs, sign_svg, sign_words
from tests.fakes.world import CONTENT

_CONTENT = load_content([CONTENT])
_WORDS = ("so,", "la,", "ti,", "do", "re", "mi", "fa", "fi", "so", "si", "la", "te", "ti", "do'")
_TONES = tuple(map(tone_of, _WORDS))


def painted(svg, width):
    inked = svg.replace("<svg ", '<svg color="#000000" ', 1)
    data = resvg_py.svg_to_bytes(
        svg_string=inked, width=width, background="#ffffff", skip_system_fonts=True
    )
    return Image.open(io.BytesIO(bytes(data))).convert("L")


def guide_height(svg):
    return float(re.search(r'<circle cx="8" cy="([\d.]+)"', svg)[1])


def test_every_sign_is_drawn_and_told():
    assert missing_signs(_CONTENT) == ()
    assert {sign_name(tone) for tone in _TONES} == set(SIGNS)
    texts = {sign_words(_CONTENT.wording, tone) for tone in _TONES}
    assert len(texts) == len(SIGNS)


def test_a_higher_tone_stands_higher_on_the_guide():
    heights = [guide_height(sign_svg(_CONTENT, tone)) for tone in _TONES]

    assert heights == sorted(heights, reverse=True)
    assert len(set(heights)) == len(heights)


@pytest.mark.parametrize("tone", _TONES, ids=map(sign_name, _TONES))
def test_a_sign_is_one_ink_and_nothing_from_outside(tone):
    root = ET.fromstring(sign_svg(_CONTENT, tone))
    colours = {
        value for element in root.iter() for name, value in element.attrib.items()
        if name in ("fill", "stroke")
    }  # fmt: skip

    assert colours <= {"currentColor", "none"}
    assert {element.tag.rpartition("}")[2] for element in root.iter()} <= {"svg", "path", "circle"}
    assert root.get("viewBox") == "0 0 100 100"


@pytest.mark.parametrize("tone", _TONES, ids=map(sign_name, _TONES))
def test_facing_is_the_mirror_image(tone):
    own = painted(sign_svg(_CONTENT, tone), 200)
    facing = painted(sign_svg(_CONTENT, tone, facing=True), 200)

    difference = ImageChops.difference(own.transpose(Image.Transpose.FLIP_LEFT_RIGHT), facing)
    assert sum(value > 128 for value in difference.tobytes()) < 60
    assert "faces you" in sign_words(_CONTENT.wording, tone, facing=True)


def _hand(tone):
    """The hand alone at 48 px, cut out and moved to the same place."""
    ink = painted(sign_svg(_CONTENT, tone), 48).crop((8, 0, 48, 48)).point(lambda v: 255 - v)
    box = ink.getbbox()
    page = Image.new("L", (48, 48))
    page.paste(ink.crop(box), (0, 0))
    return page


def test_at_48_px_the_hands_are_large_and_unlike_each_other():
    different = _TONES[3:-1]  # the low ones and high do have the hands of these
    hands = {sign_name(tone): _hand(tone) for tone in different}

    for name, hand in hands.items():
        assert sum(hand.tobytes()) / 255 > 0.12 * 48 * 48, name
    for name, hand in hands.items():
        for other, shape in hands.items():
            if name < other:
                unlike = sum(ImageChops.difference(hand, shape).tobytes()) / 255
                assert unlike > 0.05 * 48 * 48, (name, other, unlike)


def test_a_tone_of_another_octave_has_the_hand_of_its_degree():
    assert sign_name(Tone(step=8)) == "re"
    with pytest.raises(ValueError, match="has no hand sign"):
        sign_name(Tone(step=0, alter=1))


def test_a_directors_drawing_takes_the_place_of_ours(tmp_path):
    (tmp_path / "signs").mkdir()
    (tmp_path / "signs" / "do.svg").write_text("<svg/>")

    assert sign_svg(load_content([CONTENT, tmp_path]), tone_of("do")) == "<svg/>"
