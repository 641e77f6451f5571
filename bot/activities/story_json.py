"""A story with its music as one text, frozen at the start of a run, and back.

{"version": 1, "id": "...", "story": "the TOML as it was", "lines": {"gate": {"exercise": {...},
"singers": [[0, 1]], "do_octaves": [[4, 3]], "bent": []}}, "finales": [{"way": [...], ...}]}
"""

from __future__ import annotations

import json
from collections.abc import Mapping

from bot.activities.story_file import parse_story
from bot.activities.story_music import FinaleMusic, SceneLine, SetStory
from bot.errors import Fault, InputProblems
from bot.music.exercise_json import exercise_from_json, exercise_to_json

VERSION = 1


def set_story_to_json(told: SetStory, text: str) -> str:
    """Freeze a story; `text` is the file that it was read from. Equal stories give equal text."""
    tree = {
        "version": VERSION,
        "id": told.story.id,
        "story": text,
        "lines": {
            scene: {
                "exercise": json.loads(exercise_to_json(line.exercise)),
                "singers": line.singers,
                "do_octaves": line.do_octaves,
                "bent": line.bent,
            }
            for scene, line in told.lines.items()
        },
        "finales": [
            {
                "way": way,
                "exercise": json.loads(exercise_to_json(finale.exercise)),
                "scenes": finale.scenes,
                "singers": finale.singers,
                "do_octaves": finale.do_octaves,
                "worth": finale.worth,
            }
            for way, finale in told.finales.items()
        ],
    }
    return json.dumps(tree, ensure_ascii=False, separators=(",", ":"))


def set_story_from_json(text: str) -> SetStory:
    """Read what `set_story_to_json` wrote; InputProblems for anything else."""
    try:
        tree = json.loads(text)
        if tree["version"] != VERSION:
            raise ValueError(f"version {tree['version']}, and this release reads {VERSION}")
        story = parse_story(tree["story"], f"{tree['id']}.toml", tree["id"])
        return SetStory(
            story=story,
            lines={scene: _line(each) for scene, each in tree["lines"].items()},
            finales={tuple(each["way"]): _finale(each) for each in tree["finales"]},
        )
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        fault = Fault(place="story", problem=f"no frozen story: {error}")
        raise InputProblems([fault]) from error


def _line(tree: Mapping[str, object]) -> SceneLine:
    bent = tree["bent"]
    assert isinstance(bent, list)
    return SceneLine(
        exercise=exercise_from_json(json.dumps(tree["exercise"])),
        singers=_rows(tree["singers"]),
        do_octaves=_rows(tree["do_octaves"]),
        bent=tuple(map(str, bent)),
    )


def _finale(tree: Mapping[str, object]) -> FinaleMusic:
    scenes = tree["scenes"]
    assert isinstance(scenes, list)
    return FinaleMusic(
        exercise=exercise_from_json(json.dumps(tree["exercise"])),
        scenes=tuple(map(str, scenes)),
        singers=_rows(tree["singers"]),
        do_octaves=_rows(tree["do_octaves"]),
        worth=float(str(tree["worth"])),
    )


def _rows(value: object) -> tuple[tuple[int, ...], ...]:
    if not isinstance(value, list):
        raise TypeError("a list of lists of numbers is missing")
    return tuple(tuple(int(number) for number in row) for row in value)
