"""A story of five scenes in a director's own folder, quick to compose."""

from pathlib import Path

STORY = """format = 1
title = "The kettle"
about = "A kettle will not sing."
grades = [5, 6]
voices = ["treble"]
steps = ["p04", "r04"]
key = "F"
metre = "4/4"
measures = 4
finale = 1
start = "stove"

[[scene]]
id = "stove"
text = "The kettle sits on the stove. It will not sing. Who can help?"
sing = "Kettle, kettle, sing a song, sing it all the morning long"
[[scene.path]]
label = "Ask the spoon"
syllable = "do"
next = "spoon"
[[scene.path]]
label = "Ask the cup"
syllable = "so"
next = "cup"

[[scene]]
id = "spoon"
text = "The spoon taps the lid twice."
sing = "Little spoon, oh tap the tin, tap it out and tap it in"
stop = true
[[scene.path]]
label = "Tap along"
syllable = "mi"
next = "steam"
[[scene.path]]
label = "Add water"
syllable = "do"
next = "rain"

[[scene]]
id = "cup"
text = "The cup hums to itself."
sing = "Hum a little, little cup, hum until the sun is up"
[[scene.path]]
label = "Hum along"
syllable = "mi"
next = "steam"
[[scene.path]]
label = "Add water"
syllable = "do"
next = "rain"

[[scene]]
id = "steam"
text = "Steam! The kettle sings at last."
sing = "Steam is in the window pane, and the kettle sings again"

[[scene]]
id = "rain"
text = "The kettle sings of rain."
sing = "Rain is on the window pane, and the kettle sings again"
"""


def shelve(data: Path) -> None:
    """Put the story into the content of a data folder."""
    folder = data / "content" / "stories"
    folder.mkdir(parents=True)
    (folder / "kettle.toml").write_text(STORY, encoding="utf-8")
