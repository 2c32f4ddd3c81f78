"""English words inside what is said in another language: a sentence that was translated by half.

A word is English where a message has it and no translation does. What people typed may hold any word; titles of
sources and the like stand in `cited.txt`, each with its reason. `python -m tests.language.within` follows the links of
the whole demo in that language, some of each kind of page, and tells what it finds; `--most 12` looks at more of each.
Each form of one page of a kind is sent empty and with figures far too large, so that refusals are read too.
"""

import argparse
import re
import tempfile
from collections import Counter, deque
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import httpx2
from sqlmodel import update

from service.languages.catalogues import messages_of
from service.languages.places import MARK
from service.languages.saying import words_of_ours
from service.records.db import Database
from service.records.tables import Studio
from service.web.manner import usual_in
from tests.filled import demo_copied
from tests.web.asking import make_ready
from tests.web.forms_on_pages import TYPED, forms_in

if TYPE_CHECKING:
    from tests.language.walk import Answered

CITED = Path(__file__).with_name("cited.txt")
WORD = re.compile(r"[^\W\d_]{2,}")
NO_WORDS = re.compile(r"https?://\S+|\S+@\S+|\{\w+\}|\w+,?…|\b[A-Z]{3} – .*")
"""Addresses, the places of a message's draft, names cut short, and currencies by their code, as the standard has them."""
NOT_FOLLOWED = re.compile(r"^/(?:static|api|sign-out|come-in)\b|\.(?:js|zip|svg)\b|/(?:out|take-out)\b")
NOT_SENT = re.compile(r"^/(?:settings|sign-out|login|window/in)$|account|erase")
LINK = re.compile(r'(?:href|hx-get)="(/[^"#]*)')


def cited() -> tuple[str, ...]:
    """What is said in English on purpose, longest first."""
    lines = CITED.read_text(encoding="utf-8").splitlines()
    return tuple(sorted((line for line in lines if line and not line.startswith("#")), key=len, reverse=True))


def _either(texts: Iterable[str]) -> re.Pattern[str]:
    return re.compile("|".join(rf"(?<!\w){re.escape(text)}(?!\w)" for text in texts) or r"(?!)")


class Within:
    """Finds the words of ours that are left in English in a text of another language."""

    def __init__(self, data: Iterable[str], messages: Mapping[str, str]) -> None:
        """Take what people typed, longest first, and the catalogue."""
        texts = list(data)
        self.cited = _either(cited())
        bare = {message: self.cited.sub(" ", told) for message, told in messages.items()}
        self.ours = words_of_ours(bare)
        known = {message.lower() for message in messages}
        self.names = frozenset(text for text in texts if " " not in text and (text[:1].isupper() or text not in known))
        self.typed = _either(each for text in texts if " " in text for each in (text, text[:1].upper() + text[1:]))

    def left(self, text: str) -> list[str]:
        """The English words in it that nobody typed."""
        if not self._of_ours(text):
            return []
        for out in (NO_WORDS, self.cited, self.typed):
            text = out.sub(" ", text)
        return self._of_ours(MARK.sub(" ", text))

    def _of_ours(self, text: str) -> list[str]:
        return [word for word in WORD.findall(text) if word.lower() in self.ours and word not in self.names]


def said_at(database: Database, language: str, most: int) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Every address that the pages of that language lead to, at most so many of a kind: its kind and its words."""
    from tests.language.walk import addresses, answered, asking

    with database.writing() as db:
        here = make_ready(db)
    waiting = deque(addresses(database, here))
    first, seen, shapes = frozenset(waiting), set(waiting), Counter[str]()
    with database.writing() as db:
        db.connection().execute(update(Studio).values(language=language, numbers=usual_in(language)))
    with asking(database, here) as asker:
        while waiting:
            address = waiting.popleft()
            answer = asker(address).get(address)
            found = answered(answer)
            yield address, found.kind, found.words
            for refused in _refusals(asker(address), answer.text, address) if address in first else ():
                yield f"refused at {address}", refused.kind, refused.words
            text = answer.text.replace("&amp;", "&") if found.kind == "text/html" else ""
            for link in LINK.findall(text):
                shape = re.sub(r"\d+", "1", re.sub(r"=[^&]*", "=", link))
                if link not in seen and not NOT_FOLLOWED.search(link) and shapes[shape] < most:
                    shapes[shape] += 1
                    seen.add(link)
                    waiting.append(link)


def _refusals(asking: httpx2.Client, page: str, address: str) -> Iterator["Answered"]:
    """What is answered to each form of a page that cannot be kept as it is sent."""
    from tests.language.walk import answered

    for form in forms_in(page, address):
        if form.takes_files or NOT_SENT.search(form.action):
            continue
        for typed in ("", "-1", "987654321"):
            sent = {**form.values(), **{field.name: typed for field in form.fields if field.kind in TYPED}}
            answer = asking.post(form.action, data=sent)
            if answer.status_code in {httpx2.codes.UNPROCESSABLE_CONTENT, httpx2.codes.CONFLICT}:
                yield answered(answer)


def main() -> None:
    """Tell every text that is translated by half."""
    from tests.language.walk import read, typed

    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--language", default="de")
    asked.add_argument("--most", type=int, default=6, help="how many pages of a kind")
    asked.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()) / "stopline-demo-walk")
    given = asked.parse_args()
    given.keep.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, demo_copied(given.keep, Path(folder)) as database:
        judge: Within | None = None
        pages, told = 0, set[str]()
        for address, kind, words in said_at(database, given.language, given.most):
            judge = judge or Within(typed(database), messages_of(given.language))  # once all is typed
            pages += 1
            for text in read(kind, words):
                shape = re.sub(r"\d+", "1", text)
                if shape not in told and (left := judge.left(text)):
                    told.add(shape)
                    print(f"{address} {left}: {text[:400]}")
        print(f"{pages} addresses, {len(told)} texts with English words in them")


if __name__ == "__main__":
    main()
