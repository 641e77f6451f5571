"""A story of four scenes, as a value."""

from bot.activities.story import Path, Scene, Story
from bot.music.exercise import Tone
from bot.music.voice import Voice


def _to(*scenes):
    return tuple(
        Path(label=f"to {name}", syllable=Tone(step=2 * number), next=name)
        for number, name in enumerate(scenes)
    )


STORY = Story(
    id="mill", title="The mill", about="A wheel stands still.", grades=(5, 6),
    voices=(Voice.TREBLE,), sequence="steps-first", steps=("p04",), start="yard",
    scenes=(
        Scene(id="yard", text="The wheel stands still.", paths=_to("loft", "pond")),
        Scene(id="loft", text="Dust and rope.", paths=_to("pond", "end")),
        Scene(id="pond", text="A heron looks up.", paths=_to("end", "loft")),
        Scene(id="end", text="It turns."),
    ),
)  # fmt: skip
