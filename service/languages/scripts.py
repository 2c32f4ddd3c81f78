"""The sentences of scripts in another language: found as literals, also with values in them, and put in their place."""

import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from service.languages.places import LETTERS, MARK, numbered

LookUp = Callable[[str], str | None]
TOKEN = re.compile(
    r"//[^\n]*|/\*.*?\*/|\"(?:\\.|[^\"\\\n])*\"|'(?:\\.|[^'\\\n])*'|(?P<pattern>(?<=[=(,:?&|!])\s*/(?![/*])(?:\\.|\[(?:\\.|[^\]])*\]|[^/\\\n])+/\w*)|`",
    re.DOTALL,
)
NAME = re.compile(r"[A-Za-z_]\w*")
SENTENCE = re.compile(r"[A-Za-z’']{2,}[,:]? \S|^[A-Z][a-z]{2,}[.]?$|^5 [a-z]{3,}$")
NOT_SAID = re.compile(
    r"^use strict$|[{}<>=#\[\]]|^\.|^(main|stopline) |^(Enter|Escape|Content-Type|Accept|POST|GET|Home|End|Tab|Space)$"
    r"|^Arrow|image/|; ?charset"
)


@dataclass(frozen=True, slots=True)
class Literal:
    """A literal where it stands in a script: the message it is, and the expression for each of its places."""

    start: int
    end: int
    message: str
    places: dict[str, str]


def is_said(message: str) -> bool:
    """Whether a literal is for people: words with a space between them, one behind a figure, or one that begins large.

    >>> is_said("Take it back"), is_said("Done"), is_said("readwrite"), is_said("use strict")
    (True, True, False, False)
    """
    bare = MARK.sub("", message)
    return bool(LETTERS.search(bare) and SENTENCE.search(MARK.sub("5", message)) and not NOT_SAID.search(bare))


def literals(script: str) -> Iterator[Literal]:
    """Every literal of a script in the order in which they begin, those within the values of others too."""
    at = 0
    while found := TOKEN.search(script, at):
        at = found.end()
        if found[0] == "`":
            at = _template_end(script, found.start())
            yield _template(script, found.start(), at)
        elif found[0][0] in "\"'":
            yield Literal(found.start(), at, _plain(found[0][1:-1]), {})


def script_said(script: str, look_up: LookUp) -> str:
    """The script with its sentences in another language."""
    made, at = "", 0
    for literal in literals(script):
        if literal.start < at:
            continue
        translation = look_up(literal.message.strip()) if is_said(literal.message) else None
        if translation is None and not literal.places:
            continue
        made += script[at : literal.start]
        made += (
            _written(literal, translation, look_up) if translation is not None else _inside(script, literal, look_up)
        )
        at = literal.end
    return made + script[at:]


def messages_in(script: str) -> Iterator[str]:
    """Every message for people in a script."""
    for literal in literals(script):
        if is_said(literal.message):
            yield literal.message.strip()
        for value in literal.places.values():
            yield from messages_in(value)


def _written(literal: Literal, translation: str, look_up: LookUp) -> str:
    """The translation as a literal."""
    space = literal.message
    before, after = space[: len(space) - len(space.lstrip())], space[len(space.rstrip()) :]

    def filled(mark: re.Match[str]) -> str:
        return f"${{{script_said(literal.places[mark['place']], look_up)}}}"

    safe = translation.replace("\\", "\\\\").replace("`", "\\`").replace("${", "\\${")
    return f"`{before}{MARK.sub(filled, safe)}{after}`"


def _inside(script: str, literal: Literal, look_up: LookUp) -> str:
    """A literal that is no message itself, with those in its values said."""
    written = script[literal.start : literal.end]
    for value in literal.places.values():
        written = written.replace(f"${{{value}}}", f"${{{script_said(value, look_up)}}}")
    return written


def _template_end(script: str, start: int) -> int:
    """Where the literal between back ticks ends."""
    at = start + 1
    while script[at] != "`":
        if script[at] == "\\":
            at += 2
        elif script.startswith("${", at):
            at = _value_end(script, at + 2)
        else:
            at += 1
    return at + 1


def _value_end(script: str, at: int) -> int:
    depth = 1
    while depth:
        if script[at] == "`":
            at = _template_end(script, at)
            continue
        if script[at] in "\"'":
            found = TOKEN.match(script, at)
            at = found.end() if found else at + 1
            continue
        depth += {"{": 1, "}": -1}.get(script[at], 0)
        at += 1
    return at


def _template(script: str, start: int, end: int) -> Literal:
    message, at, places, taken = "", start + 1, dict[str, str](), Counter[str]()
    while at < end - 1:
        if script.startswith("${", at):
            stop = _value_end(script, at + 2)
            value = script[at + 2 : stop - 1]
            named = [each for each in NAME.findall(value) if not each.startswith("to")]
            name = numbered(named[-1].lower() if named else "it", taken)
            places[name] = value
            message += f"{{{name}}}"
            at = stop
        else:
            message += script[at]
            at += 1
    return Literal(start, end, message, places)


def _plain(written: str) -> str:
    return re.sub(r"\\(.)", r"\1", written)
