"""Every page and paper of the demo in English and in another language, and what of them is the same in both.

`python -m tests.language.walk` tells what is left to be translated, page by page; `--only /garments` looks at those alone,
`--keep FOLDER` keeps the demo it made there for the next time.
"""

import argparse
import io
import re
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path

import httpx2
from fastapi.routing import APIRoute, iter_route_contexts
from pypdf import PdfReader
from sqlmodel import SQLModel, select, update

from service.languages.catalogues import messages_of
from service.languages.runs import SAID
from service.languages.spoken import mark_of
from service.records.db import Database
from service.records.tables import Studio
from service.studio.demo import DEMO_EMAILS
from service.web.manner import offered, usual_in
from service.web.offered import time_zones
from tests.filled import demo_copied
from tests.language.within import Within
from tests.serving import serving
from tests.web.asking import Here, make_ready

ALIKE = Path(__file__).with_name("alike.txt")
NOT_PAGES = ("/api/", "/static/", "/openapi.json", "/health", "/keeping-worker.js", "/come-in/", "/calendar/")
NOT_PAGE_ENDINGS = (".svg", ".js", ".zip", "/text", "/out", "/take-out")
KEYS = frozenset(
    """
    state kind role operation unit system way direction owner currency time_zone length_unit count_unit numbers
    language side work_direction loop_direction side_worked bundle_choice left_over_way depth_choice wearer sex due
    how action object_kind weekday what from_end pass_words bundle_sizes source told words_kind method
    """.split()  # noqa: SIM905 (a long list is read more easily as words)
)
"""Columns whose text is a key that the program shows in words of its own."""
TYPED = frozenset({("handover_material", "what"), ("payment", "how")})
"""Columns that are called as such keys are, and hold what people typed."""
WORD = re.compile(r"[^\W\d_]{2,}")
READ_TYPES = ("text/html", "application/pdf", "text/csv", "text/calendar")


class Words(HTMLParser):
    """All that is read or heard on a page, piece by piece."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self.hidden = ""
        self.language = ""
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "html":
            self.language = given.get("lang") or ""
        if tag in {"script", "style", "textarea"}:
            self.hidden = tag
        self.found += [value for name, value in attrs if name in SAID and value]
        if tag == "input" and given.get("type") in {"submit", "button"}:
            self.found.append(given.get("value") or "")

    def handle_endtag(self, tag: str) -> None:
        if tag == self.hidden:
            self.hidden = ""

    def handle_data(self, data: str) -> None:
        if not self.hidden and data.strip():
            self.found.append(" ".join(data.split()))


@dataclass(frozen=True, slots=True)
class Answered:
    """What an address answered: its kind, and all the words in it."""

    status: int
    kind: str
    language: str
    words: tuple[str, ...]


def answered(answer: httpx2.Response) -> Answered:
    """The words of an answer."""
    kind = answer.headers.get("content-type", "").partition(";")[0]
    if kind == "text/html":
        page = Words(answer.text)
        return Answered(answer.status_code, kind, page.language, tuple(page.found))
    if kind == "application/pdf":
        pages = PdfReader(io.BytesIO(answer.content)).pages
        lines = [line.strip() for page in pages for line in page.extract_text().splitlines()]
        return Answered(answer.status_code, kind, "", tuple(lines))
    if kind in READ_TYPES:
        read = answer.text.partition("\n")[0] if kind == "text/csv" else answer.text  # what a row says is a record
        return Answered(answer.status_code, kind, "", tuple(re.split(r"[\r\n,:\ufeff]+", read)))
    return Answered(answer.status_code, kind, "", ())


def read(kind: str, words: tuple[str, ...]) -> tuple[str, ...]:
    """The texts of an answer in which words are looked for: a paper as a whole, as its lines are cut anywhere."""
    return (" ".join(words),) if kind == "application/pdf" else words


def addresses(database: Database, here: Here) -> list[str]:
    """Every address that is answered with a page, a paper or a file to read."""
    from service.app import create_app

    found = set()
    for context in iter_route_contexts(create_app(database).routes):
        route = context.route
        if isinstance(route, APIRoute) and "GET" in (route.methods or ()):
            path = str(getattr(context, "path", route.path))
            if not path.startswith(NOT_PAGES) and not path.endswith(NOT_PAGE_ENDINGS) and "{secret}" not in path:
                found.add(here.address_of(path))
    return sorted(found)


def typed(database: Database) -> list[str]:
    """All that people typed into the demo, longest first."""
    found: set[str] = set()
    with database.reading() as db:
        for table in SQLModel.metadata.sorted_tables:
            columns = [
                c
                for c in table.columns
                if c.type.python_type in {str, object} and (c.name not in KEYS or (table.name, c.name) in TYPED)
            ]
            for column in columns:
                for (value,) in db.execute(select(column).distinct()):
                    if isinstance(value, str) and value:
                        found |= {value, *(" ".join(line.split()) for line in value.splitlines())}
    found |= {
        quoted for text in list(found) if "\n" in text for quoted in re.findall(r'"([^"\n]*[A-Z ][^"\n]*)"', text)
    }
    found |= {role for text in list(found) for role in re.findall(r"\[cloths\.(\w+)\]", text)}
    found |= {" ".join(words.split()) for _, words in (*time_zones(), *offered())}
    found |= {text[:1].lower() + text[1:] for text in found if " " in text or text[:1].isupper()}
    return sorted((text for text in found if WORD.search(text)), key=len, reverse=True)


def alike() -> frozenset[str]:
    """The words that are the same in both languages."""
    lines = ALIKE.read_text(encoding="utf-8").splitlines()
    return frozenset(line for line in lines if line and not line.startswith("#"))


class Untranslated:
    """Tells of a text that is the same in both languages whether it should not be."""

    def __init__(self, data: list[str], messages: Mapping[str, str]) -> None:
        whole = frozenset(data)
        self.whole = whole
        self.inside = [re.compile(rf"(?<!\w){re.escape(text)}(?!\w)") for text in data if len(text) > 2]
        self.alike = alike()
        self.messages = messages

    def is_name(self, text: str) -> bool:
        """Whether a text is a name of several words that somebody typed, so that no message is the same."""
        return " " in text and text in self.whole and text not in self.alike and text not in self.messages

    def rest(self, text: str) -> list[str]:
        """The words of a text that are neither typed by somebody nor alike in both languages."""
        if text in self.whole or text in self.alike or re.fullmatch(r"\{\w+\}", text):
            return []
        left = text
        for data in self.inside:
            left = data.sub(" ", left)
        for words in sorted(self.alike, key=len, reverse=True):
            if words in left:
                left = re.sub(rf"(?<!\w){re.escape(words)}(?!\w)", " ", left)
        return WORD.findall(left)


@contextmanager
def asking(database: Database, here: Here) -> Iterator[Callable[[str], httpx2.Client]]:
    """Who asks for an address: the owner, and the client for her window and the doors."""
    with (
        serving(database) as live,
        closing(live.signed_in(DEMO_EMAILS["edda"])) as owner,
        closing(live.visitor()) as client,
    ):
        client.post(f"/window/in/{here.window}")
        yield lambda address: client if address.startswith(("/window", "/login", "/first-run")) else owner


def walk(database: Database, language: str, *, only: str = "") -> Iterator[tuple[str, Answered, Answered]]:
    """Every address as it is answered in English and in that language, to the owner, and the window to its client."""
    with database.writing() as db:
        here = make_ready(db)
    found = [each for each in addresses(database, here) if each.startswith(only)]
    told: dict[str, list[Answered]] = {}
    for spoken in ("en", language):
        with database.writing() as db:
            # Past the trail of changes, whose page would move on.
            db.connection().execute(update(Studio).values(language=spoken, numbers=usual_in(spoken)))
        with asking(database, here) as asker:
            for address in found:
                told.setdefault(address, []).append(answered(asker(address).get(address)))
    for address in found:
        english, other = told[address]
        yield address, english, other


@dataclass(slots=True)
class Compared:
    """What was found at all addresses: each with the text at fault."""

    addresses: list[str] = field(default_factory=list)
    unlike_status: list[str] = field(default_factory=list)
    unmarked: list[str] = field(default_factory=list)
    untranslated: list[tuple[str, str]] = field(default_factory=list)
    by_half: list[tuple[str, str, list[str]]] = field(default_factory=list)
    altered: list[tuple[str, str]] = field(default_factory=list)


def compared(database: Database, language: str, *, only: str = "") -> Compared:
    """Every text that is the same in both languages and should not be, or is half in each; what was typed and is gone."""
    found = Compared()
    judges: tuple[Untranslated, Within] | None = None
    for address, english, other in walk(database, language, only=only):
        if judges is None:
            data, messages = typed(database), messages_of(language)
            judges = Untranslated(data, messages), Within(data, messages)
        judge, within = judges
        before, after = frozenset(english.words), frozenset(other.words)
        found.addresses.append(address)
        if english.status != other.status or english.status >= httpx2.codes.INTERNAL_SERVER_ERROR:
            found.unlike_status.append(f"{address} {english.status} {other.status}")
        if other.kind == "text/html" and other.language != mark_of(language):
            found.unmarked.append(address)
        found.untranslated += [
            (address, text) for text in dict.fromkeys(other.words) if text in before and judge.rest(text)
        ]
        found.by_half += [
            (address, text, left)
            for text in dict.fromkeys(read(other.kind, other.words))
            if text not in before and (left := within.left(text))
        ]
        if other.kind == "text/html":
            found.altered += [
                (address, text) for text in dict.fromkeys(english.words) if judge.is_name(text) and text not in after
            ]
    return found


def main() -> None:
    """Tell what is left."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--language", default="de")
    asked.add_argument("--only", default="", help="addresses that begin so")
    asked.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()) / "stopline-demo-walk")
    given = asked.parse_args()
    given.keep.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, demo_copied(given.keep, Path(folder)) as database:
        seen: dict[str, list[str]] = {}
        found = compared(database, given.language, only=given.only)
        for address, text in found.untranslated:
            seen.setdefault(text, []).append(address)
        for text, where in seen.items():
            print(f"{where[0]} ({len(where)}): {text}")
        for address, text in found.altered:
            print(f"{address}: what was typed is changed: {text}")
        for address, text, left in found.by_half:
            print(f"{address}: English in it: {left}: {text}")
        for each in (*found.unlike_status, *found.unmarked):
            print(f"{each}: answers otherwise or is not marked")
        print(f"{len(found.addresses)} addresses, {len(found.altered)} names changed")
        print(f"{len(seen)} texts are the same in both languages")


if __name__ == "__main__":
    main()
