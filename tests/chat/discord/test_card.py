"""The card in the channel: what it shows, what it says to those who cannot see it."""

from __future__ import annotations

from dataclasses import replace

from bot.chat.discord.sheets import Sheets
from bot.service.card import Arrangement

FOLDER_GREEN = 0x20443A
READ = ["I read it: steady", "I read it: bumpy", "I read it: not yet"]


async def test_a_card_is_a_title_a_line_a_picture_sounds_and_worded_buttons(stage, surface):
    message_id = await surface.post(stage.card(), "nonce")

    (message,) = stage.posted()
    assert message.id == message_id
    assert message.embed["title"] == "Monday, November 24 · Period 3 Treble"
    assert "Today's line, 4/4, 69 beats a minute" in message.embed["description"]
    assert message.embed["color"] == FOLDER_GREEN
    assert message.embed["image"]["url"].endswith("line-2025-11-24.png?ex=1")
    assert [one["filename"] for one in message.body["attachments"]] == [
        "key-2025-11-24.mp3",
        "start-Part-I-2025-11-24.mp3",
        "start-Part-II-2025-11-24.mp3",
        "start-Part-III-2025-11-24.mp3",
    ]
    assert [one["label"] for one in message.buttons] == ["Part I", "Part II", "Part III", *READ]


async def test_picture_and_sounds_are_described_in_words(stage, surface):
    card = stage.card()

    await surface.post(card, "nonce")

    (message,) = stage.posted()
    assert message.embed["image"]["description"] == card.text
    words = [one["description"] for one in message.body["attachments"]]
    assert words[:2] == ["The key, F major, as sound.", "The starting note of Part I, as sound."]


async def test_a_long_description_is_cut_at_a_whole_line(stage, surface):
    text = "\n".join(f"Measure {number}: four quarter notes." for number in range(1, 60))

    await surface.post(stage.card(text=text), "nonce")

    described = stage.posted()[0].embed["image"]["description"]
    assert 900 < len(described) <= 1024
    whole, _, rest = described.rpartition("\n")
    assert whole.endswith("four quarter notes.") and text.startswith(whole)
    assert rest == "The rest does not fit here."


async def test_a_parts_own_picture_is_told_in_its_own_words(stage):
    text = "\n".join(
        f"Part {number}: {'four quarter notes, ' * 20}" for number in ("I", "II", "III")
    )
    card = stage.card(text=text, lines=3)
    sheets = Sheets(stage.services.readings, stage.services.content.wording)

    whole = await sheets.for_class(card)
    own = await sheets.for_part(card, 2, Arrangement.TOGETHER)

    assert whole.picture.words.endswith("Each part’s button gives its own line in words.")
    assert len(whole.picture.words) <= 1024
    assert own.picture.words == card.parts[2].text


async def test_the_starting_note_is_left_out_where_the_choir_finds_it_from_do(stage, surface):
    await surface.post(stage.card(gives_pitch=False), "nonce")

    names = [one["filename"] for one in stage.posted()[0].body["attachments"]]
    assert names == ["key-2025-11-24.mp3"]


async def test_a_label_in_other_letters_still_gives_a_plain_file_name(stage, surface):
    card = stage.card()
    parts = (replace(card.parts[0], label="Stimme Ä/1"), replace(card.parts[1], label="声部"))

    await surface.post(replace(card, parts=parts), "nonce")

    message = stage.posted()[0]
    names = [one["filename"] for one in message.body["attachments"]]
    assert names[1:] == ["start-Stimme-A-1-2025-11-24.mp3", "start-part-2-2025-11-24.mp3"]
    assert [one["label"] for one in message.buttons][:2] == ["Stimme Ä/1", "声部"]


async def test_a_choir_of_one_part_gets_one_button_for_home(stage, surface):
    card = stage.card()

    await surface.post(replace(card, parts=card.parts[:1]), "nonce")

    assert [one["label"] for one in stage.posted()[0].buttons] == ["At home: E♭ major", *READ]


async def test_nobody_is_pinged_and_nothing_secret_stands_in_a_button(stage, surface):
    card = stage.card(title="@everyone sings")

    await surface.post(card, "nonce")

    (sent,) = stage.discord.calls("POST", "/channels/{channel_id}/messages")
    assert sent.body["allowed_mentions"] == {"parse": []}
    ids = [one["custom_id"] for one in stage.posted()[0].buttons]
    assert all(len(one) <= 100 and card.reading_id in one for one in ids)
