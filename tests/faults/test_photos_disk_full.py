"""A full disk while photos are sent: a sentence, nothing half kept, and the studio goes on by itself."""

import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import httpx2
from sqlmodel import select

from service.records.db import Database
from service.records.photo_store import FolderStore
from service.records.tables import Photo
from tests.building import a_garment
from tests.counting import number
from tests.photographs import photo
from tests.serving import OWNER, Live

TOP = Path(__file__).resolve().parents[2]
CAP = 1_500_000
"""Larger than the book's own file, smaller than the photo that is sent."""

SERVE = """
import resource, sys
resource.setrlimit(resource.RLIMIT_FSIZE, ({cap}, {cap}))
from service.cli import main
sys.exit(main(["serve", "--data", {folder!r}, "--port", "{port}"]))
"""


def _free_port() -> int:
    import socket

    with closing(socket.create_server(("127.0.0.1", 0))) as taken:
        return int(taken.getsockname()[1])


def _noise() -> bytes:
    """A photo that stays large however it is pressed."""
    import io

    from PIL import Image

    kept = io.BytesIO()
    Image.effect_noise((2048, 1536), 90).convert("RGB").save(kept, "JPEG", quality=95)
    return kept.getvalue()


def test_a_photo_for_which_there_is_no_room_is_refused_and_leaves_nothing(
    sqlite_database: Database, tmp_path: Path
) -> None:
    with sqlite_database.writing() as db:
        bib = number(a_garment(db, "bib"))
    port = _free_port()
    code = SERVE.format(cap=CAP, folder=str(tmp_path), port=port)
    served = subprocess.Popen([sys.executable, "-c", code], cwd=TOP, stderr=subprocess.PIPE, stdout=subprocess.PIPE)
    live = Live(f"http://127.0.0.1:{port}", sqlite_database)
    try:
        with closing(live.signed_in(OWNER)) as owner:
            _wait_for(owner)
            typed = {"caption": "Typed before", "of": "garment"}
            large = owner.post(
                f"/garments/{bib}/photos", data=typed, files=[("photos", ("a.jpg", _noise(), "image/jpeg"))]
            )
            assert large.status_code == 507
            assert "There is no room left" in large.text
            assert 'value="Typed before"' in large.text
            assert list(FolderStore(tmp_path / "photos").names()) == []
            small = owner.post(
                f"/garments/{bib}/photos", data=typed, files=[("photos", ("b.jpg", photo(), "image/jpeg"))]
            )
            assert small.status_code == 303
        with sqlite_database.reading() as db:
            assert [row.caption for row in db.exec(select(Photo))] == ["Typed before"]
        assert len(list(FolderStore(tmp_path / "photos").names())) == 3
    finally:
        served.terminate()
        served.communicate(timeout=20)


def _wait_for(client: httpx2.Client) -> None:
    for _ in range(200):
        try:
            assert client.get("/health").status_code == 200
        except httpx2.TransportError:
            time.sleep(0.1)
        else:
            return
    raise AssertionError("the service did not start")
