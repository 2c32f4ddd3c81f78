"""The page of backups, the age in the answer of health, and the whole studio taken out."""

import io
import zipfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx2
import pytest

from service.records.photo_store import open_store
from service.studio.backup_rounds import BackupPlan, Rounds
from service.web.backups import age_shown, is_late
from tests.serving import Live


@pytest.fixture
def rounds(live: Live, tmp_path: Path) -> Rounds:
    """The service makes backups of its own."""
    assert live.app is not None
    plan = BackupPlan(tmp_path / "backups")
    live.app.state.backups = Rounds(live.database, open_store("", tmp_path), plan, lambda: datetime.now(UTC))
    made: Rounds = live.app.state.backups
    return made


def test_the_owner_makes_a_backup_and_sees_how_old_the_last_one_is(rounds: Rounds, owner: httpx2.Client) -> None:
    assert "none yet" in owner.get("/settings/backups").text
    assert owner.get("/health").json()["backup_age_s"] is None
    assert owner.post("/settings/backups").status_code == 303
    page = owner.get("/settings/backups").text
    assert "under a minute ago" in page
    assert "every 24 hours" in page
    assert page.count("backups/stopline-") == 1
    assert "under a minute ago" in owner.get("/settings").text
    health = owner.get("/health").json()
    assert health["status"] == "ok"
    assert 0 <= health["backup_age_s"] < 60


def test_a_fault_and_a_late_backup_are_told(rounds: Rounds, owner: httpx2.Client) -> None:
    rounds.plan.folder.mkdir()
    then = datetime.now(UTC) - timedelta(days=3)
    (rounds.plan.folder / f"stopline-{then:%Y%m%dT%H%M%SZ}.zip").write_bytes(b"")
    rounds.fault = "There is no room left."
    page = owner.get("/settings/backups").text
    assert "The last try failed: There is no room left." in page
    assert "The last backup is older than it should be" in page
    assert age_shown(rounds, datetime.now(UTC)) == "3 days ago"
    assert not is_late(BackupPlan(rounds.plan.folder, hours=0), datetime.now(UTC))


def test_without_backups_of_its_own_the_page_says_how_to_make_one(owner: httpx2.Client) -> None:
    assert "use the command backup FILE" in owner.get("/settings/backups").text
    assert owner.post("/settings/backups").status_code == 409


def test_the_owner_takes_the_whole_studio_out(owner: httpx2.Client) -> None:
    answer = owner.get("/settings/everything.zip")
    assert answer.headers["content-type"] == "application/zip"
    assert answer.headers["cache-control"] == "no-store"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.testzip() is None
        assert "Larkfield Whitework" in archive.read("READ-ME.txt").decode()
        assert "owner@studio.example" in archive.read("csv/account.csv").decode()


def test_backups_and_taking_everything_out_are_the_owner_s_alone(stitcher: httpx2.Client) -> None:
    asked = [
        stitcher.get("/settings/backups"),
        stitcher.post("/settings/backups"),
        stitcher.get("/settings/everything.zip"),
    ]
    assert [answer.status_code for answer in asked] == [403, 403, 403]
