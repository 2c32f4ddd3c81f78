"""Backups made by themselves: when one is due, what is kept, what a fault leaves behind."""

import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.records.db import Database
from service.records.folder import owned
from service.records.photo_store import open_store
from service.studio.backup_rounds import BackupPlan, Rounds, is_due, kept_backups, newest_backup, spare

START = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


class Clock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.at = START

    def __call__(self) -> datetime:
        return self.at

    def goes_on(self, **by: float) -> None:
        """So much time passes."""
        self.at += timedelta(**by)


@pytest.fixture
def clock() -> Clock:
    """Noon on a day in November."""
    return Clock()


@pytest.fixture
def rounds(sqlite_database: Database, tmp_path: Path, clock: Clock) -> Rounds:
    """Rounds in an opened studio, of which no backup was made yet."""
    plan = BackupPlan(tmp_path / "backups", hours=6, days=2, weeks=2)
    return Rounds(sqlite_database, open_store("", tmp_path), plan, clock)


def stamps(rounds: Rounds) -> list[datetime]:
    """When each backup in the folder was made, the newest first."""
    return [backup.made_at for backup in kept_backups(rounds.plan.folder)]


def test_one_is_made_every_so_many_hours_also_over_a_restart(rounds: Rounds, clock: Clock) -> None:
    assert rounds.look() is not None
    assert rounds.look() is None
    clock.goes_on(hours=5, minutes=59)
    anew = Rounds(rounds.database, rounds.photos, rounds.plan, clock)
    assert anew.look() is None
    clock.goes_on(minutes=1)
    assert anew.look() is not None
    assert stamps(anew) == [START + timedelta(hours=6), START]


def test_those_of_a_day_the_last_of_two_days_and_of_two_weeks_are_kept(rounds: Rounds, clock: Clock) -> None:
    for _ in range(24):
        rounds.look()
        clock.goes_on(hours=6)
    told = [f"{moment:%a %d %H}" for moment in stamps(rounds)]
    assert told == ["Tue 01 06", "Tue 01 00", "Mon 30 18", "Mon 30 12", "Sun 29 18"]


def test_a_clock_set_back_stops_no_backup(rounds: Rounds, clock: Clock) -> None:
    rounds.look()
    clock.goes_on(days=-3)
    assert rounds.look() is not None
    assert rounds.look() is None
    clock.goes_on(hours=6)
    assert is_due(rounds.plan, clock.at)
    newest = newest_backup(rounds.plan.folder, clock.at)
    assert newest is not None
    assert newest.made_at == START - timedelta(days=3)


def test_zero_hours_means_only_when_asked_for(rounds: Rounds) -> None:
    by_hand = Rounds(rounds.database, rounds.photos, BackupPlan(rounds.plan.folder, hours=0), rounds.clock)
    assert by_hand.look() is None
    assert by_hand.make().photos == 0
    assert len(stamps(by_hand)) == 1


def test_a_fault_is_told_and_tried_again_a_quarter_of_an_hour_later(rounds: Rounds, clock: Clock) -> None:
    rounds.plan.folder.parent.joinpath("backups").write_text("in the way", encoding="utf-8")
    assert rounds.look() is None
    assert rounds.fault.startswith("The data folder ")
    rounds.plan.folder.unlink()
    clock.goes_on(minutes=14)
    assert rounds.look() is None
    clock.goes_on(minutes=1)
    assert rounds.look() is not None
    assert rounds.fault == ""


def test_two_services_with_one_folder_make_one_backup_between_them(rounds: Rounds) -> None:
    with owned(rounds.plan.folder):
        assert rounds.look() is None
    assert stamps(rounds) == []


def test_half_a_backup_and_foreign_files_are_no_backups(rounds: Rounds, clock: Clock) -> None:
    (rounds.plan.folder / ".records-0a1b").mkdir(parents=True)
    for name in (".stopline-20261125T120000Z.zip.0a1b2c3d.part", "stopline-old.zip", "notes.txt"):
        (rounds.plan.folder / name).write_text("x", encoding="utf-8")
    assert newest_backup(rounds.plan.folder, clock.at) is None
    rounds.make()
    left = sorted(path.name for path in rounds.plan.folder.iterdir())
    assert left == ["in-use.lock", "notes.txt", "stopline-20261125T120000Z.zip", "stopline-old.zip"]


def test_the_thread_looks_until_the_service_stops(rounds: Rounds) -> None:
    looks = iter([False, False, True])
    thread = rounds.start(lambda _seconds: next(looks))
    thread.join(timeout=30)
    assert not thread.is_alive()
    assert threading.active_count() >= 1
    assert stamps(rounds) == [START]


HOURS = st.sets(st.integers(0, 5000), max_size=40)


@settings(max_examples=60)
@given(HOURS, st.integers(0, 9), st.integers(0, 9))
def test_the_newest_is_never_spared_and_each_rule_keeps_its_own(hours: set[int], days: int, weeks: int) -> None:
    moments = {START + timedelta(hours=hour) for hour in hours}
    left = moments - spare(moments, days, weeks)
    assert (max(moments) in left) if moments else not left
    assert len({moment.date() for moment in left}) >= min(days, len({moment.date() for moment in moments}))
    of_a_day = {moment for moment in moments if max(moments) - moment < timedelta(hours=24)}
    assert of_a_day <= left
    assert len(left - of_a_day) <= days + weeks
