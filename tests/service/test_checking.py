"""What is found in music: steps, hard spots, percentile, voice, a published criterion."""

from pathlib import Path

import pytest

from bot.cli import main
from bot.errors import InputProblems
from bot.music.voice import Voice
from bot.service.checking import Asked, as_lines, check_file
from bot.service.content import load_content
from tests.fakes.world import CONTENT

TUNES = CONTENT / "tunes"
CLIMB = b"KEY F. |d :r !m :r |d :m !s :- |s :f !m :r |d :t_ !d :- ||"


@pytest.fixture(scope="module")
def content():
    return load_content([CONTENT])


def find(content, data, file="typed", **asked):
    return check_file(data, file, content, Asked(**asked))


def test_a_tune_is_placed_with_what_pushes_it_there(content):
    (part,) = find(content, (TUNES / "ode-to-joy.abc").read_bytes(), "ode.abc").parts
    pitch, rhythm, voice = part.steps
    assert (pitch.id, rhythm.id, voice.id) == ("p05", "r09", "v01")
    fa = "the tone fa in measure 1, beat 3; measure 2, beat 2; measure 5, beat 3"
    assert pitch.because[0] == f"{fa}; and once more"
    assert rhythm.because == (
        "the rhythm dotted quarter, eighth in measure 4, beat 1; measure 8, beat 1",
    )
    assert voice.because == ()
    assert "the rhythm dotted quarter, eighth, 2 times" in part.atoms


def test_the_hard_spot_is_where_the_new_comes_together(content):
    (part,) = find(content, CLIMB).parts
    assert part.hard == ("the tone low ti in measure 4, beat 2",)


def test_a_line_is_set_beside_lines_of_its_own_step(content):
    few = find(content, b"KEY F. |d :r !m :f |m :r !d :- |r :r !m :r |d :- !- :- ||").parts[0]
    many = find(content, b"KEY F. |m :f !m :f |m :f !s :f |m :f !m :f |m :f !m :- ||").parts[0]
    assert "60 were composed" in few.place
    assert _share(few) < 50 < _share(many)


def test_the_easiest_and_the_hardest_line_of_a_step_are_called_so(content):
    least = find(content, b"KEY F. |d :- !d :- |d :- !d :- |d :- !d :- |d :- !d :- ||").parts[0]
    assert (
        least.place == "No line of these steps asks less of a reader (60 were composed to compare)."
    )
    most = find(content, b"KEY F. |m :f !m :f |m :f !m :f |m :f !m :f |m :f !m :f ||").parts[0]
    assert most.place.startswith("It asks more of a reader than any line of these steps does")


def _share(part):
    bounds = {"No line of these steps": 0, "It asks more of a reader than any": 100}
    found = [share for words, share in bounds.items() if part.place.startswith(words)]
    return found[0] if found else int(part.place.split()[7])


def test_what_lies_beyond_the_order_has_no_percentile(content):
    (part,) = find(content, b"KEY F. |d :di !r :m |d :- !- :- ||").parts
    assert "the tone di in measure 1, beat 2" in part.beyond
    assert "beyond the order" in part.place


def test_a_pickup_is_called_so_and_a_tie_that_no_step_ties_is_told_apart(content):
    waltz = b"X:1\nM:3/4\nL:1/4\nK:G\nD|GAB|AGF|G3-|G2|]"
    (part,) = find(content, waltz).parts
    assert "the tone low so in the pickup, beat 3" in part.steps[0].because
    assert part.beyond == (
        "a tie over the bar line of lengths that no step ties in measure 3, beat 1",
    )


def test_a_pickup_is_its_own_place_and_a_tone_without_a_syllable_is_named_by_its_sign(content):
    jig = b"X:1\nM:6/8\nL:1/8\nK:F\nC|F2G __B2B|F6|]"
    (part,) = find(content, jig).parts
    assert "a pickup" in part.beyond
    assert "the tone fa♭ in measure 1, beat 2; measure 1, beat 2⅔" in part.beyond


def test_a_difference_is_told_once_with_its_places(content):
    waltz = b"X:1\nM:3/4\nL:1/4\nK:F\nF2A|G>GF|G2A|F3|F2c|G>GF|G2A|F3|]"
    found = find(content, waltz, criteria="maine").criteria
    assert "the meter 3/4 instead of 4/4 in measure 1, beat 1" in found.differences
    assert "measure 5, which is not as measure 1" in found.differences
    rhythms = [told for told in found.differences if told.startswith("the rhythm")]
    # Halves are read, and lie as they do for the metre alone.
    half = "the rhythm dotted half, which is not read in measure 4, beat 1; measure 8, beat 1"
    assert rhythms == [half]


def test_every_part_is_looked_at(content):
    two = CLIMB + b"\nKEY F3. |d :- !d :- |d :- !m :- |m :- !d :- |d :- !d :- ||"
    found = find(content, two)
    assert [part.number for part in found.parts] == [1, 2]
    assert [part.steps[0].id for part in found.parts] == ["p07", "p02"]


def test_a_step_that_is_too_low_and_a_voice_that_is_too_narrow_do_not_fit(content):
    found = find(content, CLIMB, steps=("p04",), voice=Voice.CHANGING)
    (part,) = found.parts
    assert part.above == (
        "the tone fa in measure 3, beat 2",
        "the tone low ti in measure 4, beat 2",
    )
    assert "does not have C5" in part.voice
    assert not found.fits
    assert find(content, CLIMB, steps=("p07",), voice=Voice.TREBLE).fits


@pytest.mark.parametrize(("at", "above"), [("r12", True), ("r21", False), ("r13", False)])
def test_what_lies_above_the_steps_is_told_by_their_order_not_by_their_numbers(content, at, above):
    tied = b"KEY F. |d :r !m :f |- :m !r :d ||"
    (part,) = find(content, tied, steps=("p05", at)).parts
    assert part.steps[1].id == "r21"
    assert bool(part.above) is above


def test_a_criterion_is_held_against_it_and_the_official_page_decides(content):
    found = find(content, CLIMB, criteria="virginia-district-6")
    assert found.criteria.held.startswith("It differs from the second event")
    assert any(
        line.startswith("the tone low ti, which is none of do re mi fa so in measure 4, beat 2")
        for line in found.criteria.differences
    )
    assert "20 seconds to study it." in found.criteria.notes
    assert "official page" in found.criteria.notes[-1]
    assert "November 28, 2026" in found.criteria.notes[-2]
    assert not found.fits


def test_an_unknown_criterion_names_those_that_there_are(content):
    with pytest.raises(InputProblems, match="maine"):
        find(content, CLIMB, criteria="ohio")


def test_a_tune_in_midi_comes_with_a_word_on_its_spelling(content):
    from bot.music.tonicsolfa import exercise_from_tonicsolfa
    from bot.notation.midi_write import midi

    data = midi(exercise_from_tonicsolfa(CLIMB.decode()), tempo_bpm=66)
    found = find(content, data, "climb.mid")
    assert "spelled" in found.notices[0]
    assert any("spelled" in line for line in as_lines(found, content.wording))


def test_the_commands_compose_inside_a_reading_and_hold_it_against_it(tmp_path, capsys):
    wish = ["compose", "--criteria", "florida-middle/2", "--voice", "changing"]
    assert main([*wish, "--out", str(tmp_path)]) == 0
    made = str(tmp_path / "reading.musicxml")
    capsys.readouterr()
    check = ["check", made, "--voice", "changing", "--criteria"]
    assert main([*check, "florida-middle/2"]) == 0
    assert "It is what Florida" in capsys.readouterr().out
    assert main([*check, "maine"]) == 1
    assert "the meter 3/4 instead of 4/4 in measure 1, beat 1" in capsys.readouterr().out
    assert main([*check, "nowhere"]) == 2


def test_wishes_that_a_published_reading_leaves_no_room_for_are_refused(tmp_path, capsys):
    wish = ["compose", "--criteria", "maine", "--voice", "treble", "--out", str(tmp_path)]
    assert main([*wish, "--metre", "3/4", "--measures", "4"]) == 2
    told = capsys.readouterr().err
    assert "--metre: does not go with --criteria" in told
    assert "--measures" in told
    assert main([*wish, "--words", "Sing a song"]) == 2
    assert "--words: goes with --step" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_letters_are_read_in_the_dialect_that_is_named(tmp_path, capsys):
    file = tmp_path / "tune.txt"
    file.write_text("KEY F. |d :fe !s :- |d :- !- :- ||", encoding="utf-8")
    assert main(["check", str(file)]) == 2
    assert "line 1, column 12" in capsys.readouterr().err
    assert main(["check", str(file), "--letters", "curwen"]) == 0
    assert "the tone fi" in capsys.readouterr().out


def test_a_lowered_so_in_minor_asks_whether_the_letters_are_curwens(tmp_path, capsys):
    file = tmp_path / "minor.txt"
    file.write_text("KEY F. LAH is D. |l :se !l :t |d' :t !l :- ||", encoding="utf-8")
    main(["check", str(file)])
    assert "choose them" in capsys.readouterr().out
    main(["check", str(file), "--letters", "curwen"])
    told = capsys.readouterr().out
    assert "choose them" not in told
    assert "the tone si" in told


def test_a_comma_behind_a_letter_asks_whether_a_low_tone_was_meant(tmp_path, capsys):
    file = tmp_path / "low.txt"
    for text, asks in (("|d :s, |d :- ||", True), ("|d :s_ |d,r.m :- ||", False)):
        file.write_text(f"KEY F. {text}", encoding="utf-8")
        assert main(["check", str(file)]) == 0
        assert ("write d_" in capsys.readouterr().out) is asks


def test_whole_syllables_are_told_their_letters(tmp_path, capsys):
    file = tmp_path / "words.txt"
    file.write_text("KEY F. |do :re |la :d ||", encoding="utf-8")
    assert main(["check", str(file)]) == 2
    told = capsys.readouterr().err
    assert all(f"write its letter: {letter}" in told for letter in "drl")


def test_the_criteria_are_listed_and_told(capsys):
    assert main(["criteria"]) == 0
    assert "maine/8  Maine all-state chorus" in capsys.readouterr().out
    assert main(["criteria", "virginia-district-6"]) == 0
    assert "20 seconds to study it." in capsys.readouterr().out


def test_a_house_adds_criteria_of_its_own(tmp_path):
    folder = tmp_path / "criteria"
    folder.mkdir()
    text = Path(CONTENT / "criteria" / "maine.toml").read_text(encoding="utf-8")
    (folder / "own.toml").write_text(text.replace('id = "maine"', 'id = "own"'), encoding="utf-8")
    assert "own" in load_content([CONTENT, tmp_path]).criteria
    (folder / "own.toml").write_text("version = 1", encoding="utf-8")
    with pytest.raises(InputProblems, match=r"own\.toml"):
        load_content([CONTENT, tmp_path])


def test_music_in_parts_needs_the_step_that_teaches_its_way_of_singing_together(content):
    low = b"\nKEY F. |d :t_ !d :r |d :d !m :- |m :r !d :t_ |d :s_ !d :- ||"
    found = find(content, CLIMB + low, steps=("p14", "r02"))
    texture = content.sequences["steps-first"].step(found.parts[0].steps[2].id).element.texture
    assert texture == "thirds and sixths"
    for part in found.parts:
        assert part.steps[2] == found.parts[0].steps[2]
        assert part.steps[2].because == ("2 parts in measure 1, beat 1",)
        assert part.above == ("2 parts in measure 1, beat 1",)
        assert "2 parts, once" in part.atoms


def test_the_command_names_all_that_is_in_it_and_takes_another_order(tmp_path, capsys):
    file = tmp_path / "climb.txt"
    file.write_bytes(CLIMB)
    assert main(["check", str(file)]) == 0
    assert "  has " not in capsys.readouterr().out
    assert main(["check", str(file), "--all", "--sequence", "two-tones-first"]) == 0
    told = capsys.readouterr().out
    assert "  has the tone low ti, once" in told
    assert "  p10  ti by step" in told
    assert main(["check", str(file), "--sequence", "mine"]) == 2
    assert "no order of steps 'mine'" in capsys.readouterr().err


def test_a_key_may_be_named_for_midi_that_names_none(tmp_path, capsys):
    file = tmp_path / "plain.mid"
    track = bytes.fromhex("00ff58040402180800903c408f00803c0000ff2f00")
    length = len(track).to_bytes(4, "big")
    file.write_bytes(b"MThd\0\0\0\6\0\0\0\1\1\xe0MTrk" + length + track)
    assert main(["check", str(file)]) == 2
    assert "it names no key" in capsys.readouterr().err
    assert main(["check", str(file), "--key", "Bb"]) == 0
    told = capsys.readouterr().out
    assert "B flat major" in told
    assert main(["check", str(file), "--key", "H"]) == 2
    assert "--key: 'H' is no" in capsys.readouterr().err
