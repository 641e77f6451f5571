"""Cards with defaults, for tests of surfaces."""

from dataclasses import replace

from bot.activities.reading import reading_key
from bot.music.voice import Voice
from bot.service.card import CardPart, ReadingCard
from tests.fakes.choirs import MONDAY


def a_card(choir_id="choir-1", on=MONDAY, **changes) -> ReadingCard:
    card = ReadingCard(
        key=reading_key(choir_id, on),
        reading_id=f"{choir_id}-{on:%m%d}",
        choir_id=choir_id,
        choir_name="Third Period",
        on=on,
        title="4 measures in F major",
        key_name="F major",
        metre="4/4",
        measures=4,
        tempo_bpm=69,
        pulses=4,
        count_in=1,
        text="F major, 4/4, 4 measures.",
        parts=(
            CardPart(
                voice=Voice.TREBLE,
                label="Part I",
                start="F",
                apart_key="F major",
                text="F major, 4/4, 4 measures.",
            ),
        ),
        gives_pitch=True,
    )
    return replace(card, **changes)
