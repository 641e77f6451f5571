"""The browser that other tests rely on is real, plays the sounds and tells on its pages."""


async def test_a_page_has_the_width_asked_for(open_page):
    page = await open_page(width=360)
    await page.set_content("<p>hello</p>")
    assert await page.evaluate("innerWidth") == 360


async def test_chromium_can_play_mp3(open_page):
    page = await open_page()
    assert await page.evaluate("document.createElement('audio').canPlayType('audio/mpeg')")
