"""Linking a seat as a singer does it."""

from __future__ import annotations

from tests.standin.person import finished


def say(stage, key, **gaps):
    return stage.services.content.wording(key, **gaps)


async def link(stage, person, number, code=None):
    """A command, the button under its answer, the code into the form; the last answer."""
    code = code or await stage.link_code(number)
    asked = await finished(await person.run(stage.channel, "/my row"))
    form = await person.press(asked, say(stage, "link.button"))
    assert form.callback == 9, "no form was opened"
    return await finished(await person.fill_in(form, code=code))


async def card_for_seats(stage, surface):
    """Today's card in the channel, and two seats."""
    await stage.seats(2)
    card = stage.card(on=stage.today)
    await stage.offered(card)
    await surface.post(card, "nonce")
    return stage.posted()[0]
