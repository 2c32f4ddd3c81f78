"""Backups, restoring, copying and taking out at the terminal, beside a running service and without one."""

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.records.db import migrate, open_database, sqlite_url
from service.records.folder import owned
from tests.house.commands import CLEAN, ROOT, run
from tests.serving import OWNER, PASSWORD, STITCHER, open_studio


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A data folder with an opened studio that a service uses."""
    path = tmp_path_factory.mktemp("data")
    migrate(sqlite_url(path))
    database = open_database(sqlite_url(path))
    open_studio(database)
    with owned(path):
        yield path
    database.close()


def test_a_backup_made_beside_the_running_service_is_put_back_elsewhere_and_never_over_a_studio(
    folder: Path, tmp_path: Path
) -> None:
    file, new = str(tmp_path / "studio.zip"), str(tmp_path / "new")
    made = run("backup", file, "--data", str(folder))
    assert made.returncode == 0, made.stderr
    assert "read back and proved." in made.stdout
    beside = run("restore", file, "--data", str(folder))
    assert (beside.returncode, beside.stderr.count("\n")) == (1, 1)
    assert "is in use by another running service" in beside.stderr
    back = run("restore", file, "--data", new)
    assert back.returncode == 0, back.stderr
    assert "records and 0 photo files are back, as they were at " in back.stdout
    over = run("restore", file, "--data", new)
    assert (over.returncode, over.stderr) == (1, "There is a studio there already, and nothing is ever written over one. Name an empty data folder or database.\n")  # fmt: skip
    held = run("copy", sqlite_url(folder), sqlite_url(tmp_path / "third"))
    assert (held.returncode, held.stderr.count("\n")) == (1, 1)
    copied = run("copy", sqlite_url(Path(new)), sqlite_url(tmp_path / "fourth"))
    assert copied.stdout.endswith("are equal on both sides.\n"), copied.stderr


def test_a_studio_taken_out_beside_the_running_service_is_brought_in_with_new_passwords(
    folder: Path, tmp_path: Path
) -> None:
    file = str(tmp_path / "everything.zip")
    assert run("export", file, "--data", str(folder)).returncode == 0
    brought = run("import", file, "--data", str(tmp_path / "new"), STOPLINE_PASSWORD=PASSWORD)
    assert brought.returncode == 0, brought.stderr
    assert f"{STITCHER} signs in with " in brought.stdout
    assert OWNER not in brought.stdout
    wrong = run("restore", file, "--data", str(tmp_path / "other"))
    assert (wrong.returncode, wrong.stderr.count("\n")) == (1, 1)
    assert "Use import for that." in wrong.stderr


def test_a_full_disk_leaves_no_half_a_backup(folder: Path, tmp_path: Path) -> None:
    """No file may grow beyond 30 kB, so neither the records nor the backup can be written out."""
    limited = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, (30_000, 30_000)); "
        "from service.cli import main; sys.exit(main(sys.argv[1:]))"
    )
    command = [sys.executable, "-c", limited, "backup", str(tmp_path / "studio.zip"), "--data", str(folder)]
    told = subprocess.run(command, cwd=ROOT, env=CLEAN, capture_output=True, text=True, timeout=240, check=False)
    assert (told.returncode, told.stderr.count("\n")) == (1, 1), told.stderr
    assert "could not be written" in told.stderr
    assert list(tmp_path.iterdir()) == []
