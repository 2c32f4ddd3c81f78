"""Brings the catalogues up to date with the sources: `python -m tests.language.renew`.

What is new stands empty, and is shown in English until it is translated; what is gone is kept at the end, marked as unused.
`--check` changes nothing and tells what is missing or wrong; `--fill FILE` takes translations from a JSON file
of English and translation; a name of an area after either looks at that file alone.
"""

import argparse
import fcntl
import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from babel.messages.pofile import normalize
from jinja2 import Environment

from service.languages.catalogues import FOLDER, read
from service.languages.places import faults_of
from service.languages.scripts import messages_in
from service.languages.spoken import KEY, LANGUAGES
from service.languages.templates import Rewriter, macros_for, macros_in
from tests.language.sentences import messages

TOP = Path(__file__).resolve().parents[2]
TEMPLATES, STATIC = TOP / "templates", TOP / "service" / "static"
HEADER = """# {language} of Stopline: {area}.
msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Content-Transfer-Encoding: 8bit\\n"
"Language: {code}\\n"
"""
AREAS_OF_TEMPLATES = {
    "pages-garments": ("garments/", "handovers/", "photos/"),
    "pages-designs": ("designs/", "cloth/"),
    "pages-reckoner": ("reckoner/", "diary/"),
    "pages-guide": ("guide/",),
    "pages-frame": (
        *("base.html", "macros.html", "fault.html", "find.html", "keys.html", "account/", "first_day/", "settings/"),
        *("people/login", "people/first_run", "garments/work_"),
    ),
    "pages-money": ("",),
}
AREAS_OF_MODULES = {
    "sentences-reckoning": ("reckoning/",),
    "sentences-drawing": ("drawing/", "papers/", "records/", "shown words"),
    "sentences-studio": ("studio/", "errors.py", "app.py"),
    "sentences-designs": (
        *("web/design", "web/reckoner", "web/making", "web/promise", "web/what_if", "web/diary", "web/hours_words"),
        *("web/fit_words", "web/commission_fit", "web/trial", "web/cloth"),
    ),
    "sentences-web": ("web/",),
    "field-names": ("field names",),
}
SCRIPTS = "scripts"
FIELDS = "field-names"
ORDER = (
    *(area for area in AREAS_OF_MODULES if area != FIELDS),
    "pages-frame",
    *(area for area in AREAS_OF_TEMPLATES if area != "pages-frame"),
    FIELDS,
    SCRIPTS,
)


@dataclass(slots=True)
class Entry:
    """One message of an area: where it stands, its translation, and the one place that it is for, if it is for one."""

    message: str
    places: list[str] = field(default_factory=list)
    translation: str = ""
    context: str = ""


def area_of(place: str, areas: dict[str, tuple[str, ...]]) -> str:
    """The area of a template or module.

    >>> area_of("garments/work_line.html", AREAS_OF_TEMPLATES), area_of("web/words.py", AREAS_OF_MODULES)
    ('pages-frame', 'sentences-web')
    """
    found = [(len(start), area) for area, starts in areas.items() for start in starts if place.startswith(start)]
    return max(found)[1]


def in_templates() -> Iterator[tuple[str, str]]:
    """Every message of the templates, with the template."""
    sources = {
        path.relative_to(TEMPLATES).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted(TEMPLATES.rglob("*.html"))
    }
    library = {name: macros_in(source) for name, source in sources.items()}
    env = Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True)
    for name, source in sources.items():
        found: list[str] = []

        def keep(message: str, found: list[str] = found) -> None:
            found.append(message)

        Rewriter(keep, macros_for(source, library)).template(env.parse(source))
        for message in dict.fromkeys(found):
            yield message, name


def in_scripts() -> Iterator[tuple[str, str]]:
    """Every message of the scripts, with the script."""
    for path in sorted(STATIC.glob("*.js")):
        for message in dict.fromkeys(messages_in(path.read_text(encoding="utf-8"))):
            yield message, path.name


def extracted() -> dict[str, dict[str, Entry]]:
    """Every message there is, by the area that it belongs to: the first in which it stands."""
    areas: dict[str, dict[str, Entry]] = {area: {} for area in ORDER}
    home: dict[str, str] = {}
    found = [(message, place, area_of(place, AREAS_OF_MODULES)) for message, place in messages(TOP / "service")]
    found += [(message, place, area_of(place, AREAS_OF_TEMPLATES)) for message, place in in_templates()]
    found += [(message, place, SCRIPTS) for message, place in in_scripts()]
    for message, place, area in sorted(found, key=lambda each: ORDER.index(each[2])):
        entry = areas[home.setdefault(message, area)].setdefault(message, Entry(message))
        entry.places.append(place)
    return areas


def kept(language: str) -> tuple[dict[str, str], dict[tuple[str, str], str]]:
    """What is translated already: by message, and by message and place where it is for one."""
    whole: dict[str, str] = {}
    special: dict[tuple[str, str], str] = {}
    for path in sorted((FOLDER / language).glob("*.po")):
        catalogue = read(path, language)
        for message in [*catalogue, *catalogue.obsolete.values()]:
            if not message.id or not message.string:
                continue
            if message.context:
                special[str(message.id), message.context] = str(message.string)
            else:
                whole.setdefault(str(message.id), str(message.string))
    return whole, special


def written(area: str, language: str, entries: list[Entry], unused: dict[str, str]) -> str:
    """One file."""
    parts = [HEADER.format(language=LANGUAGES[language], code=language, area=area)]
    for entry in entries:
        lines = [f"#: {' '.join(dict.fromkeys(place.replace(' ', '_') for place in entry.places))}"]
        lines += [f"msgctxt {_quoted(entry.context)}"] if entry.context else []
        parts.append("\n".join([*lines, f"msgid {_quoted(entry.message)}", f"msgstr {_quoted(entry.translation)}\n"]))
    parts += [f"#~ msgid {_quoted(message)}\n#~ msgstr {_quoted(told)}\n" for message, told in unused.items()]
    return "\n".join(parts)


def _quoted(text: str) -> str:
    return str(normalize(text, width=0))


def renewed(language: str, more: dict[str, str] | None = None) -> dict[Path, str]:
    """Every file of a language as it should be; `more` are translations to be taken in."""
    whole, special = kept(language)
    whole |= {message: told for message, told in (more or {}).items() if told}
    areas = extracted()
    used = {message for entries in areas.values() for message in entries}
    files: dict[Path, str] = {}
    for area, entries in areas.items():
        listed: list[Entry] = []
        for message, entry in entries.items():
            entry.translation = whole.get(message, "")
            listed.append(entry)
            own = [place for place in entry.places if (message, place) in special]
            listed += [Entry(message, [place], special[message, place], place) for place in own]
        unused = {message: told for message, told in whole.items() if message not in used} if area == ORDER[-1] else {}
        files[FOLDER / language / f"{area}.po"] = written(area, language, listed, unused)
    return files


def faults(language: str, area: str = "") -> Iterator[str]:
    """What is missing or wrong in a language, or in one file of it."""
    for path in sorted((FOLDER / language).glob(f"{area or '*'}.po")):
        for message in read(path, language):
            if message.id:
                told = str(message.string)
                for fault in faults_of(str(message.id), told) if told else ["is not translated"]:
                    yield f"{path.name}: {str(message.id)!r}: {fault}"


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """The folder held, so that two who renew it do it one after the other."""
    folder_held = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(folder_held, fcntl.LOCK_EX)
        yield
    finally:
        os.close(folder_held)


def main() -> None:
    """Bring the catalogues up to date, or look at them."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("area", nargs="?", default="", help="one file, such as pages-money")
    asked.add_argument("--check", action="store_true", help="tell what is missing or wrong, change nothing")
    asked.add_argument("--fill", type=Path, help="a JSON file of English and translation to take in")
    asked.add_argument("--language", default="", help="one language alone")
    given = asked.parse_args()
    for language in [given.language] if given.language else [each for each in LANGUAGES if each != KEY]:
        (FOLDER / language).mkdir(exist_ok=True)
        with held(FOLDER / language):
            if not given.check:
                more = json.loads(given.fill.read_text(encoding="utf-8")) if given.fill else None
                unknown = set(more or ()) - {m for entries in extracted().values() for m in entries}
                for message in sorted(unknown):
                    print(f"no such message: {message!r}")
                for path, text in renewed(language, more).items():
                    path.write_text(text, encoding="utf-8")
            for path in sorted((FOLDER / language).glob(f"{given.area or '*'}.po")):
                every = [message for message in read(path, language) if message.id]
                done = sum(bool(message.string) for message in every)
                print(f"{path.name:28} {len(every):5} messages, {done:5} translated")
            found = [fault for fault in faults(language, given.area) if given.check or "not translated" not in fault]
            print("\n".join(found) or "nothing is wrong")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
