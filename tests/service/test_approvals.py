"""Which sheet holds: the signed one, in its days, on its choirs, and none in any doubt."""

import json
from datetime import date, timedelta

import pytest

from bot.errors import InputProblems, Refused
from bot.privacy.approval import Activity, Purpose, Transport, short_hash
from bot.service.approval_form import empty_form
from bot.service.approvals import Action, Approvals, Circumstances, Standing
from bot.store.approvals import add_draft
from bot.store.choirs import add_choir
from bot.store.folder import open_database
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world
from tests.privacy.sheets import a_sheet, written
from tests.service.seated import rows_of, sign

FORM = {
    "school": ["Lindenfield Middle School"],
    "families_told_on": ["2026-09-10"],
    "rights_contact": ["the school office"],
    "breach_contact": ["the principal"],
}


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        await opened.services.choirs.add(a_choir())
        yield opened


@pytest.fixture
def approvals(world):
    return world.services.seating.approvals


def form(**changes):
    return {**empty_form(MONDAY, ["choir-1"]), **FORM, **changes}


async def test_without_a_sheet_nothing_holds(approvals):
    assert await approvals.current("choir-1", MONDAY) is None


async def test_a_draft_does_not_count_until_its_hash_is_typed_in(approvals):
    sheet_id = await approvals.draft(form())
    assert await approvals.current("choir-1", MONDAY) is None

    await approvals.confirm(sheet_id, short_hash(await approvals.file(sheet_id)))

    sheet = await approvals.current("choir-1", MONDAY)
    assert sheet is not None
    assert (sheet.purpose, sheet.activities) == (Purpose.SCHOOL, {Activity.TAPS})


async def test_the_hash_may_be_typed_in_groups_and_capitals(approvals):
    sheet_id = await approvals.draft(form())
    printed = short_hash(await approvals.file(sheet_id))

    await approvals.confirm(sheet_id, f" {printed[:4].upper()} {printed[4:8]}-{printed[8:]} ")

    assert await approvals.current("choir-1", MONDAY) is not None


@pytest.mark.parametrize("typed", ["", "0" * 16, "ba7816bf8f01cfe", "naïve"])
async def test_another_hash_is_refused_and_nothing_counts(approvals, typed):
    sheet_id = await approvals.draft(form())

    with pytest.raises(Refused, match=r"approval\.wrong_hash"):
        await approvals.confirm(sheet_id, typed)

    assert await approvals.current("choir-1", MONDAY) is None


async def test_faults_of_the_form_come_all_at_once_by_their_fields(approvals, world):
    wrong = form(school=[""], expires_on=["2028-01-01"], choirs=["choir-9"], most_seats=["many"])

    with pytest.raises(InputProblems) as caught:
        await approvals.draft(wrong)

    places = {fault.place for fault in caught.value.faults}
    assert places == {"school", "expires_on", "choirs", "most_seats"}
    assert await rows_of(world.database, "approval_sheets") == []


async def test_an_edit_after_the_signature_makes_it_no_sheet(world, approvals):
    sheet_id = await sign(world)
    edited = written({**a_sheet(), "most_seats": 61})
    async with world.database.transaction() as change:
        await change.update("approval_sheets", {"file": edited}, {"sheet_id": sheet_id})

    assert await approvals.current("choir-1", MONDAY) is None
    assert (await approvals.lines())[0].standing is Standing.EDITED

    await approvals.confirm(sheet_id, short_hash(edited))
    assert await approvals.current("choir-1", MONDAY) is not None


@pytest.mark.parametrize(
    ("day", "holds"),
    [
        (date(2026, 8, 31), False),
        (date(2026, 9, 1), True),
        (date(2027, 1, 31), True),
        (date(2027, 2, 1), False),
    ],
)
async def test_a_sheet_holds_from_its_first_day_to_its_last(world, approvals, day, holds):
    await sign(world)

    assert (await approvals.current("choir-1", day) is not None) is holds


async def test_a_sheet_holds_for_no_choir_that_it_does_not_list(world, approvals):
    await sign(world)

    assert await approvals.current("choir-2", MONDAY) is None


async def test_of_several_sheets_the_latest_signed_holds(world, approvals):
    await sign(world, sheet_id="early", most_seats=60)
    await sign(world, sheet_id="late", most_seats=20, approved_on="2026-08-31")
    await sign(world, "choir-2", sheet_id="other", approved_on="2026-09-01")

    sheet = await approvals.current("choir-1", MONDAY)

    assert sheet is not None
    assert sheet.most_seats == 20


async def test_a_sheet_that_was_taken_away_holds_no_more(world, approvals):
    sheet_id = await sign(world)

    await approvals.take_away(sheet_id)

    assert await approvals.current("choir-1", MONDAY) is None
    with pytest.raises(Refused, match=r"approval\.unknown"):
        await approvals.file(sheet_id)


async def test_a_clock_set_back_by_more_than_two_days_closes_everything(world, approvals):
    await sign(world)
    await approvals.see_date()
    await approvals.see_date()

    world.clock.set(NINE - timedelta(hours=56))  # 48 hours before Monday began, less an hour
    assert await approvals.current("choir-1", MONDAY) is not None
    world.clock.set(NINE - timedelta(hours=62))
    assert await approvals.current("choir-1", MONDAY) is None
    assert await approvals.clock_doubtful()

    await approvals.trust_clock()
    assert await approvals.current("choir-1", MONDAY) is not None


@pytest.mark.parametrize(
    ("signed", "reached", "holds"),
    [
        ("loopback_only", Transport.LOOPBACK, True),
        ("loopback_only", Transport.TLS, False),
        ("loopback_only", Transport.PLAIN_HTTP, False),
        ("tls", Transport.LOOPBACK, True),
        ("tls", Transport.TLS, True),
        ("tls", Transport.PLAIN_HTTP, False),
        ("plain_http_acknowledged", Transport.PLAIN_HTTP, True),
    ],
)
async def test_a_sheet_holds_only_where_the_room_is_reached_as_it_says(
    world, signed, reached, holds
):
    await sign(world, transport=signed)

    here = Approvals(world.database, world.clock, Circumstances(transport=reached))

    assert (await here.current("choir-1", MONDAY) is not None) is holds


@pytest.mark.parametrize(
    ("born", "here", "purpose", "holds"),
    [
        ("demo", Circumstances(), "demo", True),
        ("demo", Circumstances(discord=True), "demo", False),
        ("demo", Circumstances(transport=Transport.TLS), "demo", False),
        ("demo", Circumstances(), "school", False),
        ("real", Circumstances(), "demo", False),
        ("real", Circumstances(), "school", True),
        ("test", Circumstances(), "demo", False),
    ],
)
async def test_a_demo_sheet_counts_in_demo_data_on_loopback_without_discord_only(
    tmp_path, born, here, purpose, holds
):
    data = written(a_sheet(purpose=purpose))
    async with open_database(tmp_path / born, born=born) as database:
        approvals = Approvals(database, FakeClock(NINE), here)
        async with database.transaction() as change:
            await add_draft(change, "sheet-1", data)
        await approvals.confirm("sheet-1", short_hash(data))

        assert (await approvals.current("choir-1", MONDAY) is not None) is holds


async def test_a_sheet_kept_under_another_id_is_no_sheet(world, approvals):
    data = written(a_sheet(sheet_id="other"))
    async with world.database.transaction() as change:
        await add_draft(change, "sheet-1", data)
    await approvals.confirm("sheet-1", short_hash(data))

    assert await approvals.current("choir-1", MONDAY) is None


async def test_the_form_of_demo_data_makes_a_demo_sheet_that_counts(tmp_path):
    async with open_database(tmp_path / "demo", born="demo") as database:
        async with database.transaction() as change:
            await add_choir(change, a_choir(), MONDAY)
        approvals = Approvals(database, FakeClock(NINE))

        sheet_id = await approvals.draft(form())
        await approvals.confirm(sheet_id, short_hash(await approvals.file(sheet_id)))

        sheet = await approvals.current("choir-1", MONDAY)
    assert sheet is not None
    assert sheet.purpose is Purpose.DEMO


async def test_the_desk_sees_where_each_sheet_stands(world, approvals):
    await sign(world, sheet_id="holds")
    await sign(world, sheet_id="old", expires_on="2026-09-13", term_ends_on="2026-09-12")
    await sign(world, sheet_id="coming", valid_from="2026-09-15")
    await approvals.draft(form())

    lines = {line.sheet_id: line for line in await approvals.lines()}

    standings = [lines[name].standing for name in ("holds", "old", "coming")]
    assert standings == [Standing.HOLDS, Standing.EXPIRED, Standing.COMING]
    assert lines["holds"].days_left == 139
    assert Standing.DRAFT in {line.standing for line in lines.values()}


async def test_what_was_done_is_written_down_in_a_chain_without_a_time(world, approvals):
    sheet_id = await approvals.draft(form())
    printed = short_hash(await approvals.file(sheet_id))
    await approvals.confirm(sheet_id, printed)
    await approvals.take_away(sheet_id)

    entries = await approvals.audit()

    assert [entry.action for entry in entries] == [
        Action.DRAFTED,
        Action.CONFIRMED,
        Action.TAKEN_AWAY,
    ]
    assert {(entry.done_on, entry.role, entry.sheet) for entry in entries} == {
        (MONDAY, "director", printed)
    }
    assert len({entry.chain for entry in entries}) == 3
    assert sheet_id not in json.dumps([str(entry) for entry in entries])


async def test_what_was_done_is_forgotten_after_a_year(world, approvals):
    await approvals.trust_clock()
    world.clock.set(NINE + timedelta(days=366))

    await approvals.forget_old_audit()

    assert await approvals.audit() == ()
