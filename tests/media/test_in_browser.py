"""The sounds as a browser decodes them, which is how every choir hears them."""

import base64

import pytest

from bot.media.tone import key_sound, mp3, pitch_sound
from bot.music.pitch import Key, Pitch
from bot.music.tonality import KeyPattern

_DECODE = """async (text) => {
    const bytes = Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0));
    const context = new OfflineAudioContext(1, 1, 44100);
    const sound = await context.decodeAudioData(bytes.buffer);
    const samples = sound.getChannelData(0);
    const level = (from, to) => samples.subarray(from, to).reduce(
        (highest, sample) => Math.max(highest, Math.abs(sample)), 0);
    return {
        seconds: sound.duration,
        channels: sound.numberOfChannels,
        peak: level(0, samples.length),
        first: level(0, 20),
        last: level(samples.length - 20, samples.length),
    };
}"""


async def test_a_browser_hears_the_starting_note_whole_and_without_a_click(open_page):
    page = await open_page()
    sound = mp3(pitch_sound(Pitch.parse("C3")))
    heard = await page.evaluate(_DECODE, base64.b64encode(sound).decode())
    assert heard["seconds"] == pytest.approx(3.5, abs=0.06)
    assert heard["channels"] == 1
    assert 0.1 < heard["peak"] < 10 ** (-3 / 20)
    assert heard["first"] < 0.002
    assert heard["last"] < 0.002


async def test_a_browser_hears_the_key_as_long_as_it_was_made(open_page):
    page = await open_page()
    key = key_sound(Key.parse("Bb"), Pitch.parse("Bb2"), KeyPattern.TRIAD, tempo_bpm=60)
    heard = await page.evaluate(_DECODE, base64.b64encode(mp3(key)).decode())
    assert heard["seconds"] == pytest.approx(6, abs=0.06)
    assert 0.1 < heard["peak"] < 10 ** (-3 / 20)
