"""A sentence of the program, in another language or unit: found whole, or by what never changes in it.

A sentence with figures and names in it is matched with the message whose places they fill. What fills a place is
translated too where it is a message itself, unless the place is one for what somebody typed.
"""

import html
import re
from collections.abc import ItemsView, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache, cached_property, lru_cache
from typing import Any

from markupsafe import Markup

from service.languages.catalogues import every_sentence, sentences_as_printed, sentences_of
from service.languages.lengths import PLAIN_FIGURES, filled, is_bare, measured_places
from service.languages.places import LETTERS, MARK, is_counted, is_typed
from service.languages.spoken import (
    IN_CM,
    KEY,
    Units,
    as_drawn,
    as_written,
    decimals_said,
    language_now,
    said,
    units_now,
)

FEW_LETTERS = 6
"""A pattern with fewer letters of its own is only taken when all that fills it is a figure or known."""
DEEPEST = 6
LONGEST_WHOLE = 800
"""Signs of the longest text that is held against sentences with places: each place multiplies the time by them."""
LONGEST_RUN = 4
"""How many sentences a message has at most that stands between others."""
SENTENCE_ENDS = (re.compile(r"(?<=[.!?]) "), re.compile(r"(?<=[:;]) "))
PARTS = (*SENTENCE_ENDS, re.compile(r"; "), re.compile(r", "), re.compile(r" · "))
WORD = re.compile(r"[^\W\d_]{2,}")
OVER = re.compile(r"[a-z0-9)]{3}[.!?] (?=[A-Z0-9])")
"""The end of a sentence and the beginning of the next."""
ALONE = re.compile(r"(?:^|(?<=[.!?] )|(?<=\}))\{(?P<place>\w+)\}(?=$| |\{)")
FIGURE = re.compile(r"[^A-Za-z]*[\d½¼¾][^A-Za-z]*[A-Za-z²]{0,3}|cm|mm|m|g|kg|h|min|s|yd|in")
IN_DRAWING = re.compile(r"(?P<before>>|(?:aria-label|title)=\")(?P<words>[^<>\"]*(?:[A-Za-z]|\d\.\d)[^<>\"]*)(?=<|\")")


@dataclass(frozen=True)
class Pattern:
    """A message with places, and its translation."""

    message: str
    translation: str

    @cached_property
    def letters(self) -> int:
        """How many letters it has of its own."""
        return len(LETTERS.findall(MARK.sub("", self.message)))

    @cached_property
    def signs(self) -> int:
        """How many signs it has of its own, letters or not."""
        return len(MARK.sub("", self.message))

    @cached_property
    def is_weak(self) -> bool:
        """Whether it has so few letters that any text might look like it; one that begins with a word needs fewer."""
        return self.letters < FEW_LETTERS - (self.message[:1] != "{")

    @cached_property
    def is_bare(self) -> bool:
        """Whether it is nothing but a length: whoever types one means that one."""
        return is_bare(self.message)

    @cached_property
    def measured(self) -> frozenset[str]:
        """The places that are filled with lengths or counts of cloth."""
        return measured_places(self.message)

    @cached_property
    def typed(self) -> int:
        """How many of its places are filled with what somebody typed."""
        return sum(is_typed(mark["place"]) for mark in MARK.finditer(self.message) if mark["place"])

    @cached_property
    def sentences(self) -> frozenset[str]:
        """The places that stand between two sentences, as sentences of their own."""
        return frozenset(mark["place"] for mark in ALONE.finditer(self.message))

    @cached_property
    def begins_with_ours(self) -> bool:
        """Whether a sentence that begins with a capital begins in translation with a place for words of ours."""
        first = MARK.match(self.translation)
        if first is None or not first["place"]:
            return False
        return self.message[:1].isupper() and not is_typed(first["place"])

    @cached_property
    def whole(self) -> re.Pattern[str]:
        """What a sentence made from it looks like; a place that stands twice is filled alike."""
        written, at, seen = "", 0, set[str]()
        for mark in MARK.finditer(self.message):
            place = mark["place"]
            written += re.escape(self.message[at : mark.start()])
            written += f"(?P={place})" if place in seen else f"(?P<{place}>.*?)"
            seen.add(place)
            at = mark.end()
        return re.compile(written + re.escape(self.message[at:]), re.DOTALL)


@dataclass(frozen=True)
class Sayings:
    """All that can be said in one language and unit: whole sentences, and patterns by their first or last word."""

    exact: dict[str, str]
    first: dict[str, list[Pattern]]
    last: dict[str, list[Pattern]]
    others: list[Pattern]
    ours: frozenset[str] = frozenset()
    """The words of the messages that no translation has: where one is left, a sentence is half said."""
    in_drawings: bool = False
    units: Units = IN_CM

    def patterns_for(self, sentence: str) -> Iterator[Pattern]:
        """The patterns that a sentence may be made from, those with the most letters first."""
        words = sentence.split()
        found = [*self.first.get(words[0], ()), *self.last.get(words[-1], ()), *self.others]
        return iter(sorted(found, key=lambda pattern: (-pattern.letters, -pattern.signs, pattern.typed)))


@cache
def sayings(language: str, units: Units = IN_CM) -> Sayings:
    """What can be said in that language; what is quoted from a printed rule keeps the unit that it is printed in."""
    messages = every_sentence() if language == KEY else sentences_of(language)
    return sayings_of(messages, units, as_printed=sentences_as_printed() if units != IN_CM else frozenset())


def sayings_of(
    messages: Mapping[str, str], units: Units = IN_CM, *, as_printed: frozenset[str] = frozenset()
) -> Sayings:
    """The same of a catalogue's messages."""
    found = Sayings({}, {}, {}, [], ours=words_of_ours(messages), units=units)
    plain: dict[str, str] = {}
    for key, translation in messages.items():
        message = key.rpartition("|")[2] if "|" in key else key
        if not MARK.search(message):
            plain.setdefault(message, translation)
            continue
        pattern = Pattern(message, translation)
        words = message.split()
        if not MARK.search(words[0]):
            found.first.setdefault(words[0], []).append(pattern)
        elif not MARK.search(words[-1]):
            found.last.setdefault(words[-1], []).append(pattern)
        else:
            found.others.append(pattern)
    for message, translation in plain.items():
        own = IN_CM if message in as_printed else units
        found.exact[message] = filled(translation, {}, own, lambda words: told(found, words))
    return found


def words_of_ours(messages: Mapping[str, str]) -> frozenset[str]:
    """The words of messages, in small letters, that stand in none of their translations.

    >>> sorted(words_of_ours({"of the band": "des Bands", "band|{n} done in": "{n} fertig in dem Band"}))
    ['done', 'of', 'the']
    """
    read = (key.rpartition("|")[2] for key in messages)
    return frozenset(_words(read) - _words(messages.values()))


def _words(texts: Iterable[str]) -> set[str]:
    return {word for text in texts for word in WORD.findall(MARK.sub(" ", text).lower())}


@lru_cache(maxsize=16_384)
def said_in(language: str, units: Units, sentence: str) -> str:
    """The sentence in that language and those units; one that is in no catalogue stays as it is."""
    return told(sayings(language, units), sentence)


@lru_cache(maxsize=4096)
def drawn_in(language: str, units: Units, sentence: str) -> str:
    """The same in a drawing, where a name stands before few words of ours, line by line."""
    known = replace(sayings(language, units), in_drawings=True)
    return "\n".join(told(known, line) for line in sentence.split("\n"))


def told(known: Sayings, sentence: str) -> str:
    """The same by a catalogue.

    >>> known = sayings_of({"{done} of {all} are done": "{done} von {all} sind fertig", "hem": "Saum"})
    >>> told(known, "3 of 12 are done"), told(known, "Hem"), told(known, "Ivy's gown")
    ('3 von 12 sind fertig', 'Saum', "Ivy's gown")
    """
    stripped = sentence.strip()
    found = _said(known, stripped, DEEPEST)
    if found is None:
        return sentence
    before, _, after = sentence.partition(stripped)
    return f"{before}{found}{after}"


def _said(known: Sayings, sentence: str, deep: int) -> str | None:
    """The translation of a whole sentence or of its parts; nothing where none of them is known."""
    if not sentence or not LETTERS.search(sentence) or deep == 0:
        return None
    found = _whole(known, sentence, deep)
    if found is not None:
        return found
    for ends in PARTS:
        parts = ends.split(sentence)
        if len(parts) > 1:
            if ends is SENTENCE_ENDS[0]:
                parts = _in_runs(known, parts, deep - 1)
            told = [_whole(known, part, deep - 1) for part in parts]
            if _is_clear(known, ends, parts, told):
                rest = [
                    each if each is not None else _said(known, part, deep - 1) or part
                    for each, part in zip(told, parts, strict=True)
                ]
                between = ends.search(sentence)
                return (between[0] if between else " ").join(rest)
    return None


def _in_runs(known: Sayings, sentences: list[str], deep: int) -> list[str]:
    """Sentences that stand behind each other; those that are one message together stay together."""
    made: list[str] = []
    at = 0
    while at < len(sentences):
        runs = (" ".join(sentences[at:end]) for end in range(min(len(sentences), at + LONGEST_RUN), at + 1, -1))
        run = next((each for each in runs if _whole(known, each, deep) is not None), sentences[at])
        made.append(run)
        at += len(SENTENCE_ENDS[0].split(run))
    return made


def _is_clear(known: Sayings, ends: re.Pattern[str], parts: list[str], told: list[str | None]) -> bool:
    """Whether parts that are known may be said: of a list only if no word of ours is left in the others."""
    if ends in SENTENCE_ENDS:
        return any(each is not None for each in told)
    pairs = list(zip(parts, told, strict=True))
    if any(each is None and _has_ours(known, part) for part, each in pairs):
        return False
    if any(each is not None and " " in part for part, each in pairs):
        return True
    return all(each is not None or not LETTERS.search(part) for part, each in pairs)


def _has_ours(known: Sayings, text: str) -> bool:
    """Whether a word of ours, in small letters, stands in a text that nothing is known for."""
    return any(word in known.ours for word in WORD.findall(text))


def _whole(known: Sayings, sentence: str, deep: int) -> str | None:
    if not LETTERS.search(sentence) or deep == 0:
        return None
    found = known.exact.get(sentence)
    if found is not None:
        return found
    lowered = known.exact.get(sentence[:1].lower() + sentence[1:])
    if lowered is not None:
        return lowered[:1].upper() + lowered[1:]
    found = _by_pattern(known, sentence, known.patterns_for(sentence), deep)
    if found is not None:
        return found
    found = _otherwise_begun(known, sentence, deep)
    if found is not None:
        return found
    is_several = " " in sentence or sentence[-1] == "."
    if sentence[-1] in ".:;" and is_several and (bare := _whole(known, sentence[:-1], deep)) is not None:
        return f"{bare}{sentence[-1]}"
    return None


def _otherwise_begun(known: Sayings, sentence: str, deep: int) -> str | None:
    """A sentence whose message begins with a small letter, or what stands within one and by itself with a capital."""
    small, large = sentence[:1].lower() + sentence[1:], sentence[:1].upper() + sentence[1:]
    if small != sentence:
        found = _by_pattern(known, small, iter(known.first.get(small.split()[0], ())), deep)
        return None if found is None else found[:1].upper() + found[1:]
    if deep == DEEPEST or large == sentence:
        return None
    return known.exact.get(large) or _by_pattern(known, large, iter(known.first.get(large.split()[0], ())), deep)


def _by_pattern(known: Sayings, sentence: str, patterns: Iterator[Pattern], deep: int) -> str | None:
    if len(sentence) > LONGEST_WHOLE:
        return None
    for pattern in patterns:
        if pattern.is_bare and not (known.in_drawings and deep == DEEPEST):
            continue
        match = pattern.whole.fullmatch(sentence)
        if match is not None and (found := _told(known, pattern, match.groupdict(), deep)) is not None:
            return found
    return None


def _told(known: Sayings, pattern: Pattern, places: dict[str, str], deep: int) -> str | None:
    told: dict[str, str] = {}
    is_sure, is_weak = known.in_drawings or not pattern.typed, pattern.is_weak
    if is_weak and pattern.typed and deep < DEEPEST:  # a part of a name may look so
        return None
    for place, value in places.items():
        if place in pattern.measured and not PLAIN_FIGURES.fullmatch(value):
            return None
        if not _may_fill(pattern, place, value):
            return None
        translated = None if is_typed(place) else (_whole if is_weak else _said)(known, value, deep - 1)
        is_open = translated is None and not is_typed(place) and (is_weak or _has_ours(known, value))
        if is_open and not FIGURE.fullmatch(value):
            return None
        is_sure = is_sure or translated is not None
        told[place] = value if translated is None else translated
    if is_weak and not is_sure:
        return None
    made = filled(pattern.translation, told, known.units, lambda words: _whole(known, words, deep - 1) or words)
    return made[:1].upper() + made[1:] if pattern.begins_with_ours else made


def _may_fill(pattern: Pattern, place: str, value: str) -> bool:
    """Whether a text may be what fills a place: a count is a figure, and only typed text holds a full stop."""
    if is_counted(place):
        return PLAIN_FIGURES.fullmatch(value) is not None
    if is_typed(place) or place in pattern.sentences:
        return True
    ends = value.endswith(".") and pattern.message.endswith(f"{{{place}}}")
    return not ends and OVER.search(value) is None


def any_said(value: Any) -> Any:
    """Whatever a template shows: text of ours said, the words in a drawing said, all else as it is."""
    if type(value) is str:
        return said(value)
    if isinstance(value, Markup) and value.startswith(("<svg", "<span")):
        return Markup(drawing_said(value))  # noqa: S704 (a drawing of our own, its words escaped again)
    return value


def each_said(value: Any) -> Any:
    """The same for whatever holds several."""
    if isinstance(value, tuple):
        return tuple(each_said(part) for part in value)
    return [each_said(part) for part in value] if isinstance(value, list) else any_said(value)


def options_said(value: Any) -> Any:
    """The same for choices: the first of each is what is sent, not shown."""
    if isinstance(value, list | tuple | ItemsView):
        return [(option[0], *(any_said(part) for part in option[1:])) for option in value]
    return value


def heads_said(value: Any) -> Any:
    """The same for the heads of a ledger: the second of a pair says how its column lies."""
    if isinstance(value, list | tuple):
        return [any_said(head) if isinstance(head, str) else (any_said(head[0]), *head[1:]) for head in value]
    return value


def all_said(value: Any, left: frozenset[str] = frozenset()) -> Any:
    """All that a paper says, through and through; what stands under the keys that are left out stays."""
    if isinstance(value, dict):
        return {key: part if key in left else all_said(part, left) for key, part in value.items()}
    if isinstance(value, tuple | list):
        return [all_said(part, left) for part in value]
    return drawing_said(value) if type(value) is str and value.startswith("<svg") else any_said(value)


def drawing_said(drawing: str) -> str:
    """A drawing with its words and figures said in the language, the units and the manner of now."""
    if as_drawn():
        return str(drawing)
    language, units, is_looked_up = language_now(), units_now(), not as_written()

    def word(found: re.Match[str]) -> str:
        words = html.unescape(found["words"])
        return found["before"] + html.escape(decimals_said(drawn_in(language, units, words) if is_looked_up else words))

    return IN_DRAWING.sub(word, str(drawing))
