"""The sealed copy of seats: it comes back once, and never with anything that was erased."""

from datetime import date, datetime, timedelta

import pytest
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from bot.activities.taps import Went
from bot.errors import Refused
from bot.store.backup import make_backup, restore_backup
from bot.store.folder import DATABASE, open_database
from bot.store.keys import KEYS
from bot.store.seat_safe import SAFE, SAFE_KEY, unseal
from tests.fakes.choirs import MONDAY
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world
from tests.service.seated import posted, rows_of, seated, sign

_PASSPHRASE = "seven quiet risers at dawn"


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path / "data", FakeClock(NINE)) as opened:
        yield opened


@pytest.fixture
def seating(world):
    return world.services.seating


async def lived(world, **changes):
    """Three seats, one of which read today; the night's copy taken."""
    slips = await seated(world, remembered_devices=True, **changes)
    await posted(world, MONDAY)
    sitting = await world.services.seating.seats.sit(slips[0].code, remember=True)
    await world.services.seating.practice.tap(sitting.seat.id, MONDAY, Went.STEADY)
    await world.services.seating.keeper.round()
    return slips, sitting.seat.id


async def restored(tmp_path, name="restored"):
    """The disk failed: the backup in a new folder, with the small files that lay beside."""
    folder, old = tmp_path / name, tmp_path / "data"
    restore_backup(make_backup(old, _PASSPHRASE), _PASSPHRASE, folder)
    for each in (SAFE, SAFE_KEY, KEYS):
        if (old / each).exists():
            (folder / each).write_bytes((old / each).read_bytes())
    return folder


async def test_after_a_broken_disk_the_seats_come_back_with_their_codes_and_days(world, tmp_path):
    slips, seat_id = await lived(world)
    folder = await restored(tmp_path)
    async with open_world(folder, FakeClock(NINE + timedelta(days=2))) as other:
        seating = other.services.seating
        assert await seating.seats.of_choir("choir-1") == ()
        await seating.keeper.round()  # looks after the safe and leaves what is waited for
        assert await seating.safe.kept_on("choir-1") == MONDAY

        assert await seating.safe.bring_back("choir-1") == 3

        assert (await seating.seats.sit(slips[0].code)).seat.id == seat_id
        assert await rows_of(other.database, "read_days") == [(seat_id, MONDAY.isoformat())]
        assert await rows_of(other.database, "taps") == []
        assert await seating.safe.kept_on("choir-1") is None
        with pytest.raises(Refused, match=r"seats\.none_kept"):
            await seating.safe.bring_back("choir-1")


async def test_the_copy_is_sealed_and_lies_for_its_owner_alone(world, tmp_path):
    _, seat_id = await lived(world)
    folder = tmp_path / "data"
    data = (folder / SAFE).read_bytes()

    assert seat_id.encode() in (folder / DATABASE).read_bytes()
    assert seat_id.encode() not in data
    assert {(folder / name).stat().st_mode & 0o777 for name in (SAFE, SAFE_KEY)} == {0o600}


@pytest.mark.parametrize("erase", ["forgotten", "removed", "slip", "choir", "sheet"])
async def test_after_an_erasure_no_copy_of_before_opens_any_more(world, seating, tmp_path, erase):
    slips, seat_id = await lived(world)
    folder = tmp_path / "data"
    kept, key = (folder / SAFE).read_bytes(), (folder / SAFE_KEY).read_bytes()

    match erase:
        case "forgotten":
            await seating.rights.forget(seat_id, by_director=False)
        case "removed":
            await seating.rights.remove_seat("choir-1", 1)
        case "slip":
            await seating.seats.new_slip("choir-1", 1)
        case "choir":
            await seating.rights.remove_choir("choir-1")
        case "sheet":
            await seating.approvals.take_away("sheet-1")
            await seating.keeper.round()

    fresh = (folder / SAFE_KEY).read_bytes()
    assert fresh != key
    body = kept.partition(b"\n")[2]
    AESGCM(key).decrypt(body[:12], body[12:], kept.partition(b"\n")[0] + b"\n")  # it did open
    with pytest.raises(InvalidTag):
        AESGCM(fresh).decrypt(body[:12], body[12:], kept.partition(b"\n")[0] + b"\n")
    now = unseal(folder)
    left = () if now is None else now.tables["seats"]
    assert len(left) == {"forgotten": 2, "removed": 2, "slip": 3}.get(erase, 0)
    if erase in ("forgotten", "removed"):
        assert seat_id not in {row["seat_id"] for row in left}
    if erase == "slip":
        assert len(slips) == 3
        assert now.tables["seat_codes"] != ()


async def test_a_program_that_dies_in_the_middle_of_an_erasure_leaves_no_copy(
    world, seating, tmp_path, monkeypatch
):
    _, seat_id = await lived(world)

    async def dies():
        raise KeyboardInterrupt

    monkeypatch.setattr(seating.safe, "_renew", dies)
    with pytest.raises(KeyboardInterrupt):
        await seating.rights.forget(seat_id, by_director=False)

    assert not (tmp_path / "data" / SAFE).exists()


async def test_a_copy_is_good_for_a_week_and_then_it_goes(world, tmp_path):
    await lived(world)
    for days, there in ((7, True), (8, False)):
        folder = await restored(tmp_path, f"after-{days}")
        async with open_world(folder, FakeClock(NINE + timedelta(days=days))) as other:
            safe = other.services.seating.safe
            assert (await safe.kept_on("choir-1") is not None) is there
            await other.services.seating.keeper.round()
            assert (folder / SAFE).exists() is there


async def test_the_sheet_says_how_long_and_nought_is_never(tmp_path, world, seating):
    kept = {"taps": 14, "ballots": 7, "after_term": 30, "totals": 365, "audit": 365, "backup": 0}
    await lived(world, kept_days=kept)
    assert not (tmp_path / "data" / SAFE).exists()


async def test_without_an_approval_nothing_comes_back(world, tmp_path):
    await lived(world)
    folder = await restored(tmp_path)
    later = datetime.fromisoformat("2027-02-01T15:00:00+00:00")
    async with open_world(folder, FakeClock(later)) as other:
        assert await other.services.seating.safe.kept_on("choir-1") is None
    async with open_world(folder, FakeClock(NINE)) as other:
        await other.services.seating.approvals.take_away("sheet-1")
        with pytest.raises(Refused, match=r"seats\.none_kept"):
            await other.services.seating.safe.bring_back("choir-1")


async def test_seats_that_are_there_are_never_written_over(world, seating):
    await lived(world)
    assert await seating.safe.kept_on("choir-1") is None
    with pytest.raises(Refused, match=r"seats\.none_kept"):
        await seating.safe.bring_back("choir-1")


async def test_a_field_that_the_new_sheet_leaves_out_stays_away(world, seating, tmp_path):
    await lived(world)
    folder = await restored(tmp_path)
    async with open_world(folder, FakeClock(NINE)) as other:
        await other.services.seating.approvals.take_away("sheet-1")
        fields = [f"seats.{name}" for name in ("seat_id", "choir_id", "seat_no", "made_on")]
        fields += ["seat_codes.seat_id", "seat_codes.code_tag"]
        fields += [f"seat_sessions.{n}" for n in ("seat_id", "token_hash", "opened_on")]
        fields += ["seat_sessions.remembered"]
        await sign(other, sheet_id="sheet-2", activities=[], fields=fields)

        assert await other.services.seating.safe.bring_back("choir-1") == 3
        assert await rows_of(other.database, "read_days") == []


async def test_a_spoiled_copy_is_no_copy(world, seating, tmp_path):
    await lived(world)
    folder = tmp_path / "data"
    (folder / SAFE).write_bytes((folder / SAFE).read_bytes()[:-1] + b"x")
    assert unseal(folder) is None
    (folder / SAFE_KEY).write_bytes(b"short")
    assert unseal(folder) is None
    await seating.keeper.round()
    assert unseal(folder).taken_on == {"choir-1": date(2026, 9, 14)}


async def test_the_portable_backup_does_not_take_the_copy_along(world, tmp_path):
    await lived(world)
    restore_backup(make_backup(tmp_path / "data", _PASSPHRASE), _PASSPHRASE, tmp_path / "new")
    assert sorted(file.name for file in (tmp_path / "new").iterdir() if "seats" in file.name) == []
    async with open_database(tmp_path / "new", born="test") as database:
        assert await rows_of(database, "seats") == []
