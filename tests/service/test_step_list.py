"""The list of steps says what lines keep to, where that begins and where it ends."""

from bot.service.step_list import steps_as_text
from tests.fakes.world import content


def _told(text, step):
    """What stands under each mention of a step, one text a sequence."""
    found, lines = [], text.splitlines()
    for number, line in enumerate(lines):
        if line.startswith(f"  {step}  "):
            below = lines[number + 1 :]
            end = next(n for n, each in enumerate(below) if not each.startswith("       "))
            found.append([each.strip() for each in below[:end]])
    return found


def test_rhythm_steps_say_how_their_sixteenths_come():
    known = content()
    text, orders = steps_as_text(known), len(known.sequences)
    apart = "here the new rhythm comes in two measures at least, of eight in both halves"
    leaves = "from here on a line leaves a sixteenth by step or by a third"
    assert _told(text, "r14") == [[apart, leaves]] * orders
    assert _told(text, "r15") == _told(text, "r16") == [[apart]] * orders
    assert _told(text, "r13") == [[]] * orders


def test_pitch_steps_say_where_lines_begin_and_cease_to_have_one_high_point():
    text = steps_as_text(content())
    assert all("one high point" in told[0] for told in _told(text, "p11"))
    assert all("a fifth at least" in told[1] for told in _told(text, "p11"))
    assert all("may come again" in told[0] for told in _told(text, "p14"))
