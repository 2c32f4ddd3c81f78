"""Every page, paper and refusal of the demo in a studio of one unit, and what of them is said in the other.

`python -m tests.language.units in` tells what is still metric in a studio that measures in inches, `cm` the other way.
What may stay stands with its reason in `tests/language/units_kept.txt`.
"""

import re
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import httpx2
from sqlmodel import update

from service.records.db import Database
from service.records.tables import Studio
from tests.filled import demo_copied
from tests.language.walk import Answered, addresses, answered, asking, typed
from tests.web.asking import make_ready
from tests.web.forms_on_pages import TYPED, PageForm, forms_in

KEPT = Path(__file__).with_name("units_kept.txt")
STRANGE = {
    "in": re.compile(r"\b(?:[mc]?m|(?:centi|milli)?metres?)\b(?!²)"),
    "cm": re.compile(r"\d ?(?:in|yd)\b(?! (?:the|a|its|one|all|each|every|\d))|\b(?:inch(?:es)?|yards?)\b"),
}
TOO_MUCH = "987654321"
REFUSING = ("/cloth", "/supplies", "/designs", "/garments", "/steps", "/quotes", "/handovers", "/settings/guesses")


def kept() -> tuple[frozenset[str], re.Pattern[str]]:
    """The addresses left out whole, and what is left out of all others."""
    lines = [line for line in KEPT.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")]
    patterns = [line for line in lines if not line.startswith("@")]
    return frozenset(line[1:] for line in lines if line.startswith("@")), re.compile("|".join(patterns))


def said_in_the_other(database: Database, unit: str) -> tuple[int, list[tuple[str, str]]]:
    """How many answers were read, and every text with a length in the other unit, with its address."""
    whole, left_out = kept()
    with database.writing() as db:
        here = make_ready(db)
    found = addresses(database, here)
    with database.writing() as db:
        db.connection().execute(update(Studio).values(length_unit=unit, count_unit=unit))
    names = [re.compile(rf"(?<!\w){re.escape(text)}(?!\w)") for text in typed(database) if STRANGE[unit].search(text)]
    read, strange = 0, []
    with asking(database, here) as asker:
        for address in found:
            for said in _answers(asker(address), address):
                read += 1
                for text in said.words if address not in whole else ():
                    rest = left_out.sub(" ", text)
                    for name in names:
                        rest = name.sub(" ", rest)
                    if STRANGE[unit].search(rest):
                        strange.append((address, text))
    return read, list(dict.fromkeys(strange))


def _answers(asking: httpx2.Client, address: str) -> Iterator[Answered]:
    """What is answered at an address, and to each of its forms filled with figures that are far too large."""
    page = asking.get(address)
    yield answered(page)
    if address.startswith("/reckoner/"):
        yield answered(asking.get(address, params=dict.fromkeys(_asked(page.text), TOO_MUCH)))
    for form in forms_in(page.text, address) if address.startswith(REFUSING) else ():
        if any(field.kind in TYPED for field in form.fields) and not form.takes_files:
            refused = asking.post(form.action, data=_too_much(form))
            if refused.status_code == httpx2.codes.UNPROCESSABLE_CONTENT:
                yield answered(refused)


def _asked(page: str) -> list[str]:
    return re.findall(r'<input id="f-[\w-]+" name="([\w.-]+)" type="text"', page)


def _too_much(form: PageForm) -> dict[str, str]:
    return {**form.values(), **{field.name: TOO_MUCH for field in form.fields if field.kind == "text"}}


def studio_of(base: Path, folder: Path, unit: str) -> tuple[int, list[tuple[str, str]]]:
    """The same of a copy of the demo."""
    with demo_copied(base, folder) as database:
        return said_in_the_other(database, unit)


def main() -> None:
    """Tell what is said in the other unit."""
    base = Path(tempfile.gettempdir()) / "stopline-demo-walk"
    base.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        read, strange = studio_of(base, Path(folder), sys.argv[1])
    for address, text in strange:
        print(f"{address}: {text}")
    print(f"{read} answers, {len(strange)} texts in the other unit")


if __name__ == "__main__":
    main()
