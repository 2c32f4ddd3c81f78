"""One file that holds a whole studio: a ZIP with a list of what is in it, which shows a single changed byte anywhere.

The list (`manifest.json`) names every member with its size and SHA-256. The archive's comment, the last bytes of the
file, is the SHA-256 of all bytes before it. A pack is written aside, read back, synced, and only then gets its name.
"""

import hashlib
import json
import os
import secrets
import shutil
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any

from service.errors import Conflict, NoRoom
from service.records.folder import sync_folder

MANIFEST = "manifest.json"
ASIDE = ".part"
SEAL = b"sha256:"
SEAL_BYTES = len(SEAL) + 64
BLOCK = 1 << 20
_SAME_MOMENT = (2000, 1, 1, 0, 0, 0)


@dataclass(slots=True)
class Packing:
    """A pack being written."""

    archive: zipfile.ZipFile
    members: dict[str, dict[str, Any]] = field(default_factory=dict)

    def add(self, name: str, content: bytes, *, shrink: bool = True) -> None:
        """Add a member."""
        with self.adding(name, shrink=shrink) as member:
            member.write(content)

    def add_file(self, name: str, path: Path) -> None:
        """Add a member from a file, which may be large."""
        with path.open("rb") as file, self.adding(name) as member:
            shutil.copyfileobj(file, member, BLOCK)

    @contextmanager
    def adding(self, name: str, *, shrink: bool = True) -> Iterator["Measured"]:
        """Add a member bit by bit."""
        about = zipfile.ZipInfo(name, _SAME_MOMENT)
        about.compress_type = zipfile.ZIP_DEFLATED if shrink else zipfile.ZIP_STORED
        about.external_attr = 0o600 << 16
        with self.archive.open(about, "w", force_zip64=True) as member:
            measured = Measured(member)
            yield measured
        self.members[name] = {"bytes": measured.size, "sha256": measured.digest.hexdigest()}


class Measured:
    """A member being written, measured on the way."""

    def __init__(self, member: IO[bytes]) -> None:
        self.member, self.size, self.digest = member, 0, hashlib.sha256()

    def write(self, content: bytes) -> int:
        """Write some bytes."""
        self.digest.update(content)
        self.size += len(content)
        return self.member.write(content)


@dataclass(frozen=True, slots=True)
class Pack:
    """A whole pack that has been proved: its list, and its members to read."""

    archive: zipfile.ZipFile
    manifest: dict[str, Any]

    @property
    def members(self) -> dict[str, dict[str, Any]]:
        """Every member with its size and digest."""
        found: dict[str, dict[str, Any]] = self.manifest["members"]
        return found

    def read(self, name: str) -> bytes:
        """A member's content."""
        return self.archive.read(name)

    def unpack(self, name: str, path: Path) -> None:
        """Write a member to a file, synced."""
        with self.archive.open(name) as member, path.open("xb") as file:
            shutil.copyfileobj(member, file, BLOCK)
            file.flush()
            os.fsync(file.fileno())


@contextmanager
def packing(path: Path, about: dict[str, Any]) -> Iterator[Packing]:
    """Write a pack that gets its name at the end, whole and proved, or leaves nothing behind.

    Raises Conflict if something has that name already or it cannot be written there, NoRoom if the disk is full.
    """
    if path.exists():
        raise Conflict(f"{path} exists already. Name a new file.")
    aside = path.with_name(f".{path.name}.{secrets.token_hex(4)}{ASIDE}")
    try:
        with zipfile.ZipFile(aside, "x", allowZip64=True) as archive:
            made = Packing(archive)
            yield made
            listed = json.dumps({**about, "members": made.members}, indent=1, ensure_ascii=False, sort_keys=True)
            archive.writestr(zipfile.ZipInfo(MANIFEST, _SAME_MOMENT), listed, zipfile.ZIP_DEFLATED)
            archive.comment = b" " * SEAL_BYTES
        _seal(aside)
        with opened(aside):
            pass
        aside.rename(path)
        sync_folder(path.parent)
    except FileNotFoundError:
        raise Conflict(f"There is no folder {path.parent}. Make it first, or name another file.") from None
    except OSError as error:
        raise NoRoom(f"{path} could not be written: {error.strerror or error}. Nothing was kept.") from error
    finally:
        aside.unlink(missing_ok=True)


@contextmanager
def opened(path: Path) -> Iterator[Pack]:
    """Open a pack after proving every byte of it.

    Raises Conflict if it is no pack of ours, cut short, or changed since it was written.
    """
    try:
        file = path.open("rb")
    except OSError as error:
        raise Conflict(f"{path} cannot be read: {error.strerror}.") from None
    with file:
        _prove_seal(file, path)
        with zipfile.ZipFile(file) as archive:
            pack = Pack(archive, json.loads(archive.read(MANIFEST)))
            _prove_members(pack, path)
            yield pack


def _seal(path: Path) -> None:
    with path.open("r+b") as file:
        before = _digest_before_seal(file)
        file.seek(-SEAL_BYTES, os.SEEK_END)
        file.write(SEAL + before.encode())
        file.flush()
        os.fsync(file.fileno())


def _digest_before_seal(file: IO[bytes]) -> str:
    left = file.seek(0, os.SEEK_END) - SEAL_BYTES
    file.seek(0)
    digest = hashlib.sha256()
    while left > 0 and (some := file.read(min(BLOCK, left))):
        digest.update(some)
        left -= len(some)
    return digest.hexdigest()


def _prove_seal(file: IO[bytes], path: Path) -> None:
    size = file.seek(0, os.SEEK_END)
    file.seek(max(0, size - SEAL_BYTES))
    if file.read() != SEAL + _digest_before_seal(file).encode():
        raise Conflict(
            f"{path} is cut short, was changed since it was written, or is no file of this program. "
            "Nothing was touched."
        )
    file.seek(0)


def _prove_members(pack: Pack, path: Path) -> None:
    if sorted(pack.archive.namelist()) != sorted([*pack.members, MANIFEST]):
        raise Conflict(f"{path} does not hold what its own list says. Nothing was touched.")
    for name, about in pack.members.items():
        found = hashlib.sha256()
        with pack.archive.open(name) as member:
            while some := member.read(BLOCK):
                found.update(some)
        if found.hexdigest() != about["sha256"]:
            raise Conflict(f"{name} in {path} is not what its own list says. Nothing was touched.")
