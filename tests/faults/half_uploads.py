"""Photos whose sending is cut off: nothing of them is kept, neither in the book nor in the store nor aside.

python -m tests.faults.half_uploads --uploads 500
"""

import argparse
import socket
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlmodel import func, select

from service.records.db import open_database, sqlite_url
from service.records.tables import Photo
from service.web.deps import PLAIN_COOKIE
from tests.faults.forking import free_port, starting
from tests.faults.kill_loop import a_studio_to_count_in, signed_in_at
from tests.photographs import photo

SHARES = (0.1, 0.5, 0.99)
LARGE = 1600
PICTURES_EACH = 3


@dataclass(frozen=True)
class Figures:
    """What a run came to."""

    cut: int
    files: int
    rows: int
    whole: int

    @property
    def passed(self) -> bool:
        """Whether only the whole photo is there."""
        return (self.files, self.rows, self.whole) == (0, 0, 303)

    def line(self) -> str:
        """The figures in one line."""
        return (
            f"half uploads: {self.cut} cut off, {self.files} files left (0), {self.rows} rows left (0), a whole one "
            f"afterwards {self.whole} (303): {'pass' if self.passed else 'MISS'}"
        )


def run(folder: Path, uploads: int) -> Figures:
    """Cut so many off, at a tenth, half and all but the end; then send one whole and look."""
    secret, _ = a_studio_to_count_in(folder)
    port = free_port()
    with starting(folder) as starter:
        starter.start(port)
        for place in range(uploads):
            _cut_off(port, secret, photo(width=LARGE, shade=place % 20), SHARES[place % len(SHARES)])
        with signed_in_at(port, secret) as owner:
            files = {"photos": ("work.jpg", photo(), "image/jpeg")}
            whole = owner.post("/garments/1/photos", files=files).status_code
    stored = [path for path in (folder / "photos").rglob("*") if path.is_file()]
    database = open_database(sqlite_url(folder))
    with database.reading() as db:
        rows = db.exec(select(func.count()).select_from(Photo)).one()
    database.close()
    return Figures(uploads, len(stored) - PICTURES_EACH, rows - 1, whole)


def _cut_off(port: int, secret: str, picture: bytes, share: float) -> None:
    body = (
        b'--x\r\nContent-Disposition: form-data; name="photos"; filename="a.jpg"\r\n\r\n' + picture + b"\r\n--x--\r\n"
    )
    head = (
        f"POST /garments/1/photos HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {PLAIN_COOKIE}={secret}\r\n"
        f"Content-Type: multipart/form-data; boundary=x\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    with socket.create_connection(("127.0.0.1", port), timeout=30) as line:
        line.sendall(head.encode() + body[: int(len(body) * share)])


def main(arguments: Sequence[str]) -> int:
    """Cut them off and print the line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--uploads", type=int, default=500)
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        figures = run(Path(folder), asked.uploads)
    print(figures.line())
    return 0 if figures.passed else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
