"""A cloth written down over HTTP, and pages read as words, for tests of the shelf's pages."""

import re

import httpx2

from service.studio.proofs import prove
from tests.serving import Live

FIVE = {
    "over": "5 cm",
    **{f"warp-{at}": str(threads) for at, threads in enumerate((101, 99, 100, 102, 98), 1)},
    **{f"weft-{at}": str(threads) for at, threads in enumerate((95, 94, 96, 95, 95), 1)},
}


def linen(owner: httpx2.Client, **typed: str) -> str:
    """Write a cloth down and give its page's address."""
    answer = owner.post("/cloth", data={"name": "Fine linen", "fibre": "linen", "width": "150", **typed})
    assert answer.status_code == 303, answer.text
    path: str = answer.headers["location"]
    assert path.endswith("/count")
    return path.removesuffix("/count")


def words_of(page: str) -> str:
    """The page's words as they are read, tags and breaks left out."""
    return " ".join(re.sub(r"<[^>]+>", " ", page).replace("&nbsp;", " ").split())


def holds(live: Live) -> bool:
    with live.database.reading() as db:
        return prove(db).faults == ()
