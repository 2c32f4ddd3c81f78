"""Pages from templates: whole, or one block alone for a page that asks for it."""

import hashlib
from base64 import b64encode
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, partial
from importlib.resources import files
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from service.languages.spoken import KEY, as_drawn, language_now, mark_of
from service.web import (
    amount_words,
    books_words,
    diary_words,
    handover_words,
    history_words,
    hours_words,
    money_words,
    photo_words,
    words,
)

STATIC = Path(__file__).resolve().parents[1] / "static"
TEMPLATES = Path(__file__).resolve().parents[2] / "templates"
HTMX_NAME = "htmx-2.0.10.min.js"
HTMX_SHA256 = "71ea67185bfa8c98c39d31717c6fce5d852370fcdfd129db4543774d3145c0de"
# Files of one concern each that are sent as one, so that a page asks for few.
JOINED = {
    "looks.css": ("stopline.css", "ledgers.css", "writing.css", "pages.css", "widths.css"),
    "every-page.js": ("stopline.js", "meanwhile.js", "waiting.js", "sending.js", "leaving.js", "keys.js", "working.js"),
    "at-the-table.js": ("place.js", "band.js", "clock.js", "clock-face.js", "refused.js", "table.js", "keeping.js"),
}
MANNERS: dict[str, Any] = {
    "loader": FileSystemLoader(TEMPLATES),
    "undefined": StrictUndefined,
    "trim_blocks": True,
    "lstrip_blocks": True,
    "auto_reload": False,
}


@dataclass(frozen=True, slots=True)
class Script:
    """A script's address and the digest that a browser checks it by."""

    src: str
    integrity: str


@cache
def htmx_bytes() -> bytes:
    """The one htmx file, as shipped in its wheel."""
    return (files("django_htmx") / "static/django_htmx/htmx-2.min.js").read_bytes()


@cache
def htmx_script() -> Script:
    """Where htmx is served and its digest."""
    digest = b64encode(hashlib.sha384(htmx_bytes()).digest()).decode()
    return Script(f"/static/{HTMX_NAME}", f"sha384-{digest}")


@cache
def joined_bytes(name: str) -> bytes:
    """Files sent as one."""
    return b"\n".join((STATIC / part).read_bytes() for part in JOINED[name])


@cache
def own_bytes(name: str, language: str = KEY) -> bytes:
    """One of our own files as it is sent to a page in that language: of them all only scripts speak."""
    written = joined_bytes(name) if name in JOINED else (STATIC / name).read_bytes()
    if language == KEY or not name.endswith(".js"):
        return written
    from service.languages.catalogues import messages_of
    from service.languages.scripts import script_said

    return script_said(written.decode(), messages_of(language).get).encode()


def static(name: str, language: str = KEY) -> str:
    """The address of one of our own files, with a digest of its content so that a cache never lies."""
    return _address(name, language)


@cache
def _address(name: str, language: str) -> str:
    digest = hashlib.sha256(own_bytes(name, language)).hexdigest()[:12]
    speaks = language != KEY and name.endswith(".js")
    named = f"{name.removesuffix('.js')}.{language}.js" if speaks else name
    return f"/static/{named}?{digest}"


def _speaking(language: str) -> Environment:
    """An environment whose templates are in another language, or whose sentences are said in inches."""
    from service.languages import saying
    from service.languages.catalogues import messages_of
    from service.languages.templates import Speaking, macros_in

    env = Speaking(**MANNERS, autoescape=True)
    known = messages_of(language)
    env.look_up = lambda name, message: known.get(f"{name}|{message}") or known.get(message)
    env.library = {
        path.relative_to(TEMPLATES).as_posix(): macros_in(path.read_text(encoding="utf-8"))
        for path in sorted(TEMPLATES.rglob("*.html"))
    }
    env.filters |= {
        "said": saying.any_said,
        "each_said": saying.each_said,
        "options_said": saying.options_said,
        "heads_said": saying.heads_said,
    }
    return env


def environment(language: str = KEY, *, plain: bool = True) -> Environment:
    """The one template environment of a language: everything is escaped, a missing name is an error.

    In English it may be plain: nothing is looked up, where lengths and figures are said as the sources have them.
    """
    return _environment(language, language == KEY and plain)


@cache
def _environment(language: str, plain: bool) -> Environment:
    env = Environment(**MANNERS, autoescape=True) if plain else _speaking(language)
    of_language = partial(static, language=language)
    env.globals |= {"static": of_language, "htmx": htmx_script(), "marked_as": mark_of(language)}
    env.filters |= {
        **words.FILTERS,
        **amount_words.FILTERS,
        **hours_words.FILTERS,
        **books_words.FILTERS,
        **money_words.FILTERS,
        **photo_words.FILTERS,
        **history_words.FILTERS,
        **diary_words.FILTERS,
        **handover_words.FILTERS,
    }
    # Known everywhere, so that a block rendered alone has its macros too.
    env.globals["m"] = env.get_template("macros.html").module
    return env


def render(template: str, context: Mapping[str, Any], block: str = "") -> str:
    """A whole page, or one of its blocks alone."""
    page = environment(language_now(), plain=as_drawn()).get_template(template)
    if not block:
        return page.render(context)
    return "".join(page.blocks[block](page.new_context(dict(context))))
