"""Files that were made to do harm, and files that are no files: each is refused, in no time."""

import io
import random
import time
import tracemalloc
import zipfile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.errors import InputProblems
from bot.notation.door import LIMIT_BYTES
from bot.notation.read import exercise_from_musicxml
from tests.notation.files import CONTAINER, line, mxl, packed

GOOD = line("C4 D4 E4 F4", "G4:8")
CONTAINED = CONTAINER.format(path="score.musicxml").encode()
DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "{system}"{own}>'
)


def refusal(data):
    with pytest.raises(InputProblems) as caught:
        exercise_from_musicxml(data, "file.mxl")
    assert all(fault.place == "file.mxl" for fault in caught.value.faults)
    return str(caught.value)


def with_doctype(own, system="http://www.musicxml.org/dtds/partwise.dtd", text=""):
    doctype = DOCTYPE.format(system=system, own=f" [{own}]" if own else "")
    head, _, rest = GOOD.decode().partition("?>")
    rest = rest.replace("<part-name>Voice 1", f"<part-name>Voice 1{text}")
    return f"{head}?>{doctype}{rest}".encode()


LAUGHS = '<!ENTITY a0 "ha">' + "".join(
    f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 30)
)
ATTACKS = {
    "billion laughs": with_doctype(LAUGHS, text="&a29;"),
    "quadratic blow-up": with_doctype(f'<!ENTITY big "{"x" * 50_000}">', text="&big;" * 5_000),
    "file entity": with_doctype('<!ENTITY f SYSTEM "file:///etc/passwd">', text="&f;"),
    "network entity": with_doctype('<!ENTITY f SYSTEM "http://127.0.0.1:9/x">', text="&f;"),
    "parameter entity": with_doctype('<!ENTITY % f SYSTEM "file:///etc/passwd"> %f;'),
    "empty own declarations": with_doctype(" "),
    "an entity nobody declared": with_doctype("", text="&unknown;"),
    "deep nesting": b"<part>" * 150_000 + b"</part>" * 150_000,
    "too large": GOOD + b" " * LIMIT_BYTES,
    "zip bomb": mxl(GOOD + b" " * (60 * 1024 * 1024)),
    "zip bomb in the container": packed(
        {"META-INF/container.xml": b" " * (30 * 1024 * 1024), "score.musicxml": GOOD}
    ),
    "a bomb of many files": packed(
        {"META-INF/container.xml": CONTAINED, **{f"{n}.png": b"" for n in range(5_000)}}
    ),
    "path upwards": mxl(GOOD, "../../../etc/passwd"),
    "path from the root": mxl(GOOD, "/etc/passwd"),
    "path of another system": mxl(GOOD, "..\\score.musicxml"),
    "missing score": packed({"META-INF/container.xml": CONTAINED}),
    "missing container": packed({"score.musicxml": GOOD}),
    "container without a score": packed({"META-INF/container.xml": b"<container/>"}),
    "another packing": packed(
        {"META-INF/container.xml": CONTAINED, "score.musicxml": GOOD}, zipfile.ZIP_LZMA
    ),
    "zip cut short": mxl(GOOD)[:-40],
    "zip cut to its first bytes": b"PK\x03\x04",
    "random bytes": random.Random(7).randbytes(10_000),
    "zeros": bytes(1_000),
    "nothing": b"",
    "blanks": b" \n ",
    "a web page": b"<!DOCTYPE html><html><body>music</body></html>",
    "plain words": "Frère Jacques".encode(),
    "a midi file": b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\x01\xe0MTrk",
}


@pytest.mark.parametrize("name", ATTACKS)
def test_what_is_no_honest_score_is_refused_at_once(name):
    before = time.process_time()
    refusal(ATTACKS[name])
    assert time.process_time() - before < 2


def test_a_fault_of_the_whole_file_says_what_would_be_right():
    assert refusal(b"") == ("file.mxl: the file is empty (save it again from the notation program)")
    assert "its document type declares things of its own" in refusal(ATTACKS["billion laughs"])
    assert "unpacks to more than 2 MiB" in refusal(ATTACKS["zip bomb"])
    assert "larger than 2 MiB" in refusal(ATTACKS["too large"])
    assert "the compressed file is damaged" in refusal(ATTACKS["zip cut short"])
    assert "names '../../../etc/passwd'" in refusal(ATTACKS["path upwards"])
    assert "it holds <html>" in refusal(b"<html/>")
    assert "it is not XML" in refusal(ATTACKS["plain words"])
    latin = GOOD.replace(b"<part-name>Voice", "<part-name>Mädchen".encode("latin-1"))
    assert "its letters are not UTF-8" in refusal(latin)


def test_nesting_that_no_score_has_is_refused_before_it_is_built():
    assert "nested more than 40 deep" in refusal(ATTACKS["deep nesting"])


@pytest.mark.parametrize("name", ["zip bomb", "zip bomb in the container", "quadratic blow-up"])
def test_a_bomb_takes_hardly_more_memory_than_an_honest_file_may(name):
    tracemalloc.start()
    refusal(ATTACKS[name])
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 5 * LIMIT_BYTES


def test_a_size_that_a_zip_archive_states_is_not_believed():
    data = bytearray(mxl(GOOD + b" " * (50 * 1024 * 1024)))
    with zipfile.ZipFile(io.BytesIO(bytes(data))) as archive:
        true_size = archive.getinfo("score.musicxml").file_size.to_bytes(4, "little")
    lying = bytes(data).replace(true_size, (1_000).to_bytes(4, "little"))
    assert lying != bytes(data)
    refusal(lying)


def test_a_packed_file_that_is_encrypted_is_refused():
    data = bytearray(mxl(GOOD))
    first = data.index(b"PK\x01\x02")
    second = data.index(b"PK\x01\x02", first + 1)
    data[second + 8] |= 1
    assert "packed in a way" in refusal(bytes(data))


@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
def test_an_honest_compressed_file_is_let_in(method):
    files = {"META-INF/container.xml": CONTAINED, "score.musicxml": GOOD}
    assert exercise_from_musicxml(packed(files, method), "f") == exercise_from_musicxml(GOOD, "f")


def test_the_document_type_that_notation_programs_write_is_let_in():
    assert exercise_from_musicxml(with_doctype(""), "f") == exercise_from_musicxml(GOOD, "f")


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "iso-8859-1"])
def test_other_encodings_are_read(encoding):
    text = GOOD.decode().replace('version="1.0"', f'version="1.0" encoding="{encoding[:6]}"', 1)
    text = text.replace('"utf-8-"', '"utf-8"').replace('"iso-88"', '"iso-8859-1"')
    data = text.replace("Voice 1", "Frère").encode(encoding)
    assert exercise_from_musicxml(data, "f") == exercise_from_musicxml(GOOD, "f")


@settings(deadline=None, max_examples=500)
@given(st.integers(0, len(GOOD) - 1), st.binary(max_size=6), st.integers(0, 12))
def test_a_damaged_file_is_read_or_refused_and_never_anything_else(at, put, cut):
    damaged = GOOD[:at] + put + GOOD[at + cut :]
    for data in (damaged, mxl(damaged)):
        try:
            exercise_from_musicxml(data, "f")
        except InputProblems as problems:
            assert problems.faults


@settings(deadline=None, max_examples=500)
@given(st.integers(0, 400), st.binary(min_size=1, max_size=4))
def test_a_damaged_archive_is_read_or_refused_and_never_anything_else(at, put):
    whole = mxl(GOOD)
    damaged = whole[:at] + put + whole[at + len(put) :]
    try:
        exercise_from_musicxml(damaged, "f")
    except InputProblems as problems:
        assert problems.faults
