"""Messages with places: what stands between braces is filled in, what stands between numbered signs is marked up."""

import re
from collections import Counter

MARK = re.compile(r"\{(?P<place>[a-z_][a-z0-9_]*)\}|<(?P<opened>\d+)>|</(?P<closed>\d+)>")
LETTERS = re.compile(r"[^\W\d_]")
WORD = re.compile(r"[^\W\d_]{2}|(?<!\w)a(?!\w)")
ATTRIBUTES = re.compile(r"[\w-]+=\"")
SPACE = re.compile(r"\s+")
TYPED = frozenset(
    """
    name names who by client clients commission email e_mail note notes reason caption document q address
    studio_name postal_address electronic_address panel panels section sections garment cloth cloths piece part
    stitcher person holder maker thread supply design fibre place size subject body device typed tax_name includes
    leaves_out given_by wash_note commission_title shown_title cloth_role upper material materials key href src url path
    token secret code version value_typed photo number
    commission_occasion it_title row_title row_how wish_words wish_answer risk_risk risk_answer
    quote_leaves_out handover_odd handover_tension material_what material_amount
    link_label entry_before entry_after line_before line_after change_before change_after it_before it_after
    """.split()  # noqa: SIM905 (a long list is read more easily as words)
)
"""What is called so is what somebody typed, what was said already, or no words at all: it is never translated."""

COUNTED = re.compile(r"(?:len|sum|min|max|round|int|abs|(?:\w+_)?bundles|\w+_threads)(?:_?\d+)?")
"""What a place is called that is filled with a figure: by a function of the language, or with what is counted."""

SAID_ALL_THE_SAME = frozenset({"shown_size", "shown_name"})


def plain(message: str) -> str:
    """A message without its places and signs.

    >>> plain("For <1>{commission}</1>, wanted on")
    'For , wanted on'
    """
    return MARK.sub("", message)


def has_words(message: str) -> bool:
    """Whether there is anything to translate in it."""
    bare = re.sub(r"&#?\w+;", "", plain(message))
    return WORD.search(bare) is not None and ATTRIBUTES.search(bare) is None


def marks_of(message: str) -> Counter[str]:
    """Every place and sign of a message."""
    return Counter(found[0] for found in MARK.finditer(message))


def faults_of(message: str, translation: str) -> list[str]:
    """What is wrong with a translation: places or signs that are missing, strange or crossed.

    >>> faults_of("{done} of {all}", "{done} von {ganz}")
    ['{all} is missing', '{ganz} is not in the English']
    """
    wanted, found = marks_of(message), marks_of(translation)
    faults = [f"{mark} is missing" for mark in wanted - found if mark not in found]
    faults += [f"{mark} is not in the English" for mark in found - wanted if mark not in wanted]
    faults += [f"{mark} stands twice" for mark in found if mark.startswith("<") and found[mark] > wanted[mark] > 0]
    still_open: list[str] = []
    for mark in MARK.finditer(translation):
        if mark["opened"]:
            still_open.append(mark["opened"])
        elif mark["closed"] and (not still_open or still_open.pop() != mark["closed"]):
            faults.append(f"{mark[0]} closes what is not open")
    rest = MARK.sub("", translation)
    return faults + [f"{sign} stands alone" for sign in "{}<>" if sign in rest and sign not in MARK.sub("", message)]


def is_typed(place: str) -> bool:
    """Whether a place is filled with what somebody typed.

    >>> is_typed("section_name"), is_typed("name_2"), is_typed("bundles"), is_typed("operation")
    (True, True, False, False)
    """
    bare = re.sub(r"_?\d+$", "", place)
    if bare in SAID_ALL_THE_SAME:
        return False
    return bare in TYPED or bare.rpartition("_")[2] in TYPED


def is_counted(place: str) -> bool:
    """Whether a place is filled with a figure.

    >>> is_counted("len"), is_counted("len_2"), is_counted("after_bundles"), is_counted("length")
    (True, True, True, False)
    """
    return COUNTED.fullmatch(place) is not None


def numbered(name: str, taken: Counter[str]) -> str:
    """A name for a place that no other place of the message has."""
    taken[name] += 1
    return name if taken[name] == 1 else f"{name}_{taken[name]}"
