"""Hearing the line, as addresses: shut until it is opened, and the times of its signs."""

import pytest


async def test_a_line_that_is_shut_answers_403_and_is_kept_by_no_cache(visitor, services):
    services.readings.shut = True
    answer = await visitor.get("/media/c1-20251124/together/0/line.mp3")
    assert answer.status == 403
    assert answer.headers["Cache-Control"] == "no-store"
    assert "once it has been sung" in await answer.text()


async def test_a_line_that_is_open_sounds(visitor):
    answer = await visitor.get("/media/c1-20251124/together/0/line.mp3")
    assert (answer.status, answer.content_type) == (200, "audio/mpeg")


@pytest.mark.parametrize("arrangement", ["together", "apart"])
async def test_the_times_of_the_signs_are_told_in_pulses(visitor, arrangement):
    answer = await visitor.get(f"/reading/c1-20251124/signs/2/{arrangement}")
    signs = await answer.json()
    assert signs[0] == {"part": 0, "number": 0, "measure": 1, "at": 0.0, "length": 1.0}
    assert signs[-1]["at"] == 28.0


@pytest.mark.parametrize("path", ["signs/4/together", "signs/0/apart", "signs/1/aside"])
async def test_a_part_that_is_not_there_has_no_times(visitor, path):
    assert (await visitor.get(f"/reading/c1-20251124/{path}")).status == 404


async def test_the_desk_opens_only_a_line_that_is_up(visitor, services):
    answer = await visitor.post("/desk/choir/c1/day/2025-11-25/open")
    assert answer.status == 404
    answer = await visitor.post("/desk/choir/c1/day/2025-11-24/open")
    assert answer.headers["Location"] == "/desk/choir/c1?done=opened&day=2025-11-24#day-2025-11-24"
    assert services.lesson.opened == {"c1-20251124"}
