"""Pictures are kept whole or not at all, in a folder or in a bucket of a local S3-compatible server."""

import errno
import io
import os
import re
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx2
import pytest

from service.errors import Conflict, NoRoom, NotFound
from service.records.photo_store import BucketStore, FolderStore, PhotoStore, open_store, store_beside
from service.records.tables import Commission
from tests.building import a_garment
from tests.counting import number
from tests.photographs import photo
from tests.serving import START, Live

NAME = f"{'a1' * 32}-small.jpg"
OTHER = f"{'b2' * 32}-large.jpg"


@pytest.fixture(scope="session")
def bucket_address() -> Iterator[str]:
    """The address of a local server that speaks S3."""
    from moto.server import ThreadedMotoServer

    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    yield f"http://{host}:{port}"
    server.stop()


def _bucket(monkeypatch: pytest.MonkeyPatch, address: str, name: str) -> PhotoStore:
    settings = {"AWS_ENDPOINT_URL": address, "AWS_ACCESS_KEY_ID": "made", "AWS_SECRET_ACCESS_KEY": "up"}
    for setting, value in settings.items():
        monkeypatch.setenv(setting, value)
    store = open_store(f"s3://{name}/photos", Path("nowhere"))
    assert isinstance(store, BucketStore)
    store.files.mkdir(name)
    return store


@pytest.fixture(params=["folder", "bucket"])
def store(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> PhotoStore:
    """An empty store of each kind."""
    if request.param == "folder":
        return open_store("", tmp_path)
    return _bucket(monkeypatch, request.getfixturevalue("bucket_address"), "studio")


def test_a_picture_is_read_as_it_was_kept_listed_and_removed(store: PhotoStore) -> None:
    store.keep(NAME, b"a picture")
    store.keep(NAME, b"the same name always means the same picture")
    store.keep(OTHER, b"another")
    assert store.read(NAME) == b"a picture"
    listed = dict(store.names())
    assert sorted(listed) == [NAME, OTHER]
    assert all(abs(datetime.now(UTC) - since) < timedelta(minutes=5) for since in listed.values())
    store.remove(NAME)
    store.remove(NAME)
    assert [name for name, _ in store.names()] == [OTHER]
    with pytest.raises(NotFound, match="not in the store any more"):
        store.read(NAME)
    store.remove(OTHER)


@pytest.mark.parametrize("name", ["../studio.sqlite", "a1/../../x-small.jpg", "photo.jpg", f"{'a1' * 32}-small.jpg\n"])
def test_only_names_made_of_a_digest_are_taken(tmp_path: Path, name: str) -> None:
    store = FolderStore(tmp_path / "photos")
    with pytest.raises(ValueError, match="no name of a picture"):
        store.keep(name, b"x")
    with pytest.raises(ValueError, match="no name of a picture"):
        store.read(name)
    assert list(tmp_path.rglob("*")) == []


def test_a_picture_is_synced_before_it_gets_its_name_and_its_folder_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store, seen, real = FolderStore(tmp_path / "photos"), [], os.fsync
    folder = tmp_path / "photos" / NAME[:2]

    def watched(held: int) -> None:
        seen.append((Path(f"/proc/self/fd/{held}").readlink().name, (folder / NAME).exists()))
        real(held)

    monkeypatch.setattr(os, "fsync", watched)
    store.keep(NAME, b"a picture")
    names = [(name[: len(NAME)], there) for name, there in seen]
    assert names == [("photos", False), (tmp_path.name, False), (NAME, False), (NAME[:2], True)]


@pytest.mark.parametrize("fault", [errno.ENOSPC, errno.EFBIG, errno.EROFS])
def test_a_full_disk_leaves_nothing_half_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: int) -> None:
    store = FolderStore(tmp_path / "photos")

    def full(_held: int) -> None:
        raise OSError(fault, os.strerror(fault))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(NoRoom, match="nothing was kept"):
        store.keep(NAME, b"a picture")
    monkeypatch.undo()
    assert list(store.names()) == []
    store.keep(NAME, b"a picture")
    assert store.read(NAME) == b"a picture"


def test_a_bucket_that_cannot_be_reached_is_told_plainly(monkeypatch: pytest.MonkeyPatch) -> None:
    for setting in ("AWS_ACCESS_KEY_ID", "AWS_SECRET_ACCESS_KEY"):
        monkeypatch.setenv(setting, "made up")
    monkeypatch.setenv("AWS_ENDPOINT_URL", "http://127.0.0.1:9")
    monkeypatch.setenv("AWS_MAX_ATTEMPTS", "1")
    store = BucketStore("s3://nobody-there")
    with pytest.raises(NoRoom, match="just now, so nothing was kept"):
        store.keep(NAME, b"a picture")
    with pytest.raises(NotFound, match="cannot be fetched"):
        store.read(NAME)
    with pytest.raises(Conflict, match="s3://nobody-there cannot be reached"):
        list(store.names())


@pytest.mark.parametrize("address", ["studio-photos", "s3://", "s3://UPPER", "file:///photos", "s3://a b"])
def test_an_address_that_is_no_bucket_is_refused_in_one_sentence(tmp_path: Path, address: str) -> None:
    with pytest.raises(Conflict, match="name a bucket"):
        open_store(address, tmp_path)


def test_photos_lie_beside_the_sqlite_file_or_in_the_data_folder(tmp_path: Path) -> None:
    beside = store_beside(f"sqlite:///{tmp_path}/studio.sqlite")
    elsewhere = store_beside("postgresql+psycopg://somebody@/studio", tmp_path / "data")
    assert isinstance(beside, FolderStore)
    assert isinstance(elsewhere, FolderStore)
    assert (beside.folder, elsewhere.folder) == (tmp_path / "photos", tmp_path / "data" / "photos")


def test_photos_go_through_the_whole_service_into_a_bucket_and_out_of_it(
    bucket_address: str, monkeypatch: pytest.MonkeyPatch, owner: httpx2.Client, live: Live
) -> None:
    assert live.app is not None
    live.app.state.photos = store = _bucket(monkeypatch, bucket_address, "whole-service")
    with live.database.writing() as db:
        garment = a_garment(db, "bib")
        garment_id, garment.state, garment.finished_at = number(garment), "called off", START
        commission = db.get_one(Commission, garment.commission_id)
        client, commission.state = f"/clients/{commission.client_id}", "called off"
    for width in (400, 300):
        files = [("photos", ("hem.jpg", photo(width, 200), "image/jpeg"))]
        sent = owner.post(f"/garments/{garment_id}/photos", data={"caption": "", "of": "garment"}, files=files)
        assert sent.status_code == 303, sent.text
    assert len(list(store.names())) == 6
    gallery = owner.get(f"/garments/{garment_id}/photos").text
    first, second = re.findall(r'src="(/photos/\d+)/small"', gallery)
    assert owner.get(f"{first}/large").content in {store.read(name) for name, _ in store.names() if "large" in name}
    assert owner.post(f"{first}/take-out").status_code == 303
    assert len(list(store.names())) == 3
    assert owner.get(f"{second}/small").status_code == 200
    with zipfile.ZipFile(io.BytesIO(owner.get(f"{client}/data.zip").content)) as pack:
        assert [name for name in pack.namelist() if name.startswith("photos/")] == [f"{second[1:]}.jpg"]
    assert owner.post(f"{client}/erase", data={"name": "Hester Vane", "sure": "yes"}).status_code == 303
    assert list(store.names()) == []
