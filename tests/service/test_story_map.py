"""The map: every scene once, no box on another, paths from left to right, the way walked in ink."""

import re
import xml.etree.ElementTree as ET
from itertools import combinations
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from bot.notation.engrave import png
from bot.service.content import load_content
from bot.service.story_files import story_of
from bot.service.story_layout import lay_out_story
from bot.service.story_map import scene_list, story_map_svg
from tests.activities.stories import random_story, scene, story
from tests.fakes.world import CONTENT

_CONTENT = load_content([CONTENT])
_SAY = _CONTENT.wording


@settings(max_examples=40, deadline=None)
@given(st.integers(min_value=0, max_value=10**9))
def test_scenes_of_any_story_have_places_of_their_own_and_paths_lead_on(seed):
    told = random_story(Random(seed))

    layout = lay_out_story(told)

    assert set(layout.spots) == {each.id for each in told.scenes}
    for one, other in combinations(layout.spots.values(), 2):
        assert one.layer != other.layer or abs(one.row - other.row) >= 1
    for route in layout.routes:
        layers = [spot.layer for spot in route.spots]
        assert layers == sorted(set(layers)) or route.back
        assert route.back or layers == list(range(layers[0], layers[-1] + 1))
    assert len(layout.routes) == len(list(told.all_paths()))


def test_a_story_with_faults_can_still_be_drawn():
    broken = story(
        scene("a", ("do", "b"), ("mi", "nowhere"), line=10),
        scene("b", ("so", "a"), ("do", "b"), line=20),
        scene("alone", line=30),
    )

    layout = lay_out_story(broken)
    drawing = story_map_svg(broken, _SAY)

    assert [route.back for route in layout.routes] == [False, True, True]
    assert ET.fromstring(drawing).get("viewBox")


def test_the_map_is_one_ink_without_text_and_shows_the_way_walked():
    told = story_of(_CONTENT, "the-old-wheel").story
    way = ("wheel", "kites", "windy", "moles", "stars")

    plain, walked = story_map_svg(told, _SAY), story_map_svg(told, _SAY, way)

    tags = {element.tag.rpartition("}")[2] for element in ET.fromstring(plain).iter()}
    assert tags == {"svg", "g", "path"}
    assert set(re.findall(r'(?:fill|stroke)="(\w+)"', plain)) <= {"currentColor", "none"}
    assert plain.count('stroke-width="14"') == len(list(told.all_paths()))
    assert walked.count('stroke-width="32"') == len(way) - 1
    assert png(walked, 900)[:4] == b"\x89PNG"


def test_the_map_in_words_names_every_scene_and_path():
    told = story_of(_CONTENT, "nine-bells").story

    lines = list(scene_list(told, _SAY))

    assert len(lines) == len(told.scenes)
    assert lines[0] == (
        "alarm: do for “The long sleds” to sleds, mi for “The choir's hot soup” to stove, "
        "so for “The old balloon” to balloon."
    )
    assert lines[-1].endswith("the end.")
