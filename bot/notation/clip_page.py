"""One still of a clip: the music, a sentence under it, the beats of the measure. All outlines."""

from __future__ import annotations

import re

from bot.notation.lettering import Run, outline

WIDTH, HEIGHT = 1280, 720
STRIP = (520, 136)  # the figures' field
_INK, _PENCIL, _FOLDER, _HAIR = "#1D1A16", "#645D53", "#20443A", "#C9C1B1"
_MUSIC_TOP, _MUSIC_WIDTH, _MUSIC_HEIGHT = 40, 1180, 500
_FOOT = 668  # base line of the sentence and the figures
_SENTENCE, _FIGURE, _BETWEEN = 38, 84, 78
_BOX = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')


def clip_page(music: str | None, sentence: str) -> str:
    """Draw a still of `WIDTH` by `HEIGHT` as SVG; `music` None is the page turned away."""
    drawn = [
        f'<path d="M0 0H{WIDTH}V10H0Z" fill="{_FOLDER}"/>',
        _placed(music) if music else _back(),
        f'<path d="M50 572H1230" stroke="{_HAIR}" stroke-width="1.5"/>',
        _words(sentence, 50, _FOOT, _SENTENCE, _PENCIL, "start"),
    ]
    return _svg(WIDTH, HEIGHT, drawn)


def clip_beats(beats: int, marked: int) -> str:
    """Draw the figures of a measure's beats, `marked` among them, as SVG.

    It is `STRIP` large and belongs into the lower right corner of a still.
    """
    width, height = STRIP
    foot, drawn = _FOOT - (HEIGHT - height), []
    for beat in range(1, beats + 1):
        x = width - 80 - (beats - beat) * _BETWEEN
        ink = _INK if beat == marked else _HAIR
        drawn.append(_words(str(beat), x, foot, _FIGURE, ink, "middle"))
        if beat == marked:
            drawn.append(f'<path d="M{x - 30} {foot + 17}h60v7h-60Z" fill="{_FOLDER}"/>')
    return _svg(width, height, drawn)


def _svg(width: int, height: int, drawn: list[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}">{"".join(drawn)}</svg>'
    )


def _placed(music: str) -> str:
    """The engraving as large as it can be, in the middle of its field."""
    box = _BOX.search(music)
    assert box is not None
    width, height = float(box[1]), float(box[2])
    scale = min(_MUSIC_WIDTH / width, _MUSIC_HEIGHT / height)
    x = (WIDTH - width * scale) / 2
    y = _MUSIC_TOP + (_MUSIC_HEIGHT - height * scale) / 2
    inside = music[music.index(">") + 1 : music.rindex("</svg>")]
    return (
        f'<g color="{_INK}" fill="currentColor" '
        f'transform="translate({x:.2f},{y:.2f})scale({scale:.6f})">{inside}</g>'
    )


def _back() -> str:
    return f'<path d="M50 40H1230V540H50Z" fill="#F0EADB" stroke="{_HAIR}" stroke-width="1.5"/>'


def _words(text: str, x: float, y: float, size: float, ink: str, anchor: str) -> str:
    # Outlines have whole coordinates: drawn ten times as large, they are as fine as letters are.
    data = outline((Run(text=text, size=size * 10),), x * 10, y * 10, anchor)
    return f'<path transform="scale(.1)" d="{data}" fill="{ink}"/>'
