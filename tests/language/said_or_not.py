"""What in the sources is for people and what is not: modules, calls, shapes, and words that only records hold."""

import re

MOST_VARIANTS = 24
FOLDERS = ("reckoning", "drawing", "papers", "studio", "records/queries", "web")
NOT_READ = re.compile(
    r"studio/(statements|proofs|.*_proofs|demo|big_studio|export|backup|restoring|bringing_in|personal|client_data)\w*\.py"
    r"|web/(openapi|api_\w+|routes|render|calendar)\.py|reckoning/(growth_tables|path_text|design_writing)\.py"
)
NOT_SAID_CALLS = frozenset(
    """
    getattr setattr hasattr text compile startswith endswith removeprefix removesuffix split rsplit partition
    rpartition replace strftime strptime fromisoformat encode decode getLogger debug info warning exception
    error_log isinstance cast TypeVar NewType APIRouter Path Query Header Cookie ContextVar open read_text
    write_text literal Markup CheckConstraint Index get pop setdefault index find count rfind literal_column func
    headers signature raw page go render fullmatch match search sub findall finditer join_path TypeError
    RuntimeError AssertionError parse ticked number_of picture_of picture tag element attribute field_name style_of
    add_argument
    """.split()  # noqa: SIM905 (a long list is read more easily as words)
)
"""Calls whose own text is no sentence; what else is called within them is read."""
SAID_KEYWORDS = frozenset({"called"})
NOT_SAID_KEYWORDS = frozenset(
    """
    name key kind state field area template block action operation status media_type headers prefix path href method
    role type mode encoding errors index_elements server_default sep end newline format fmt tz unit cls klass anchor
    id text_anchor order_by alias
    """.split()  # noqa: SIM905 (a long list is read more easily as words)
)
SHAPELESS = re.compile(
    r"^/|^(translate|rotate|scale|id|account)\(|^id |://|\.(html|py|css|js|po|typ|svg|pdf|csv|json|zip|ics|sqlite)\b|^[a-z]+([_.-][a-z0-9]+)+$|[<>_=\\|@#{}]|^%|; (charset|filename)|-src |sandbox|^[A-Z]{2,}$"
)
_SQL = "select|insert|update|delete|with|create|pragma|begin|vacuum|attach|alter|drop|in \\(select|lock"
SQL = re.compile(rf"^\s*(?:{_SQL}|{_SQL.upper()})\b")
"""How a statement begins; a sentence that begins with the same word has a capital and small letters."""
WORDED = re.compile(
    r"^(web/\w*words|web/words|drawing/(telling|chance|rows|panels|tuck_drawing|length_close_up|close_up|finished_band)|records/queries/changed)\.py"
)
"""Modules whose single words in small letters are shown as they are."""
SHOWN_WORDS = (
    *("written down", "taken out", "{which} added", "{which} taken out", "what came and went"),
    *("catching 1 thread", "catching {count} threads"),
    *("asked", "quoted", "agreed", "planned", "in work", "finished", "delivered", "called off", "closed", "lapsed"),
    *("draft", "sent", "accepted", "redrawn", "current", "put away", "taken", "offered", "sent back", "taken back"),
    *("owner", "stitcher", "quote", "alteration", "linen", "cotton", "silk", "wool", "warp", "weft", "front", "back"),
    *("linens", "skein", "metre", "yard", "piece", "needle", "pin", "needles", "pins", "ribbon", "button", "thread"),
    *("entry", "time", "who", "kind", "counted", "unit", "reason", "month", "earned", "paid", "owed", "currency"),
    *("amount", "note", "number", "state", "name", "e-mail", "telephone", "address", "garments", "what", "part"),
    *("why", "record", "clockwise", "anticlockwise", "binding", "seam", "closure", "lace", "motif", "tuck", "other"),
    *("Child measures", "Fit and other answers kept", "Quoted garments", "Instalments", "Payments", "Photos"),
    *(
        "one",
        "one alone, as this version needs",
        "anybody’s",
        "anything",
        "a measurement",
        "with the body",
        "with the head: a bonnet, a collar",
        "fibres stated",
    ),
    *("day", "minutes", "days", "measurement", "fitting", "answer", "everything", "clients", "commissions", "accounts"),
    *(
        "handovers",
        "photos",
        "quotes",
        "designs",
        "stitchers",
        "nobody",
        "metres",
        "pieces",
        "skeins",
        "anybody",
        "inside",
        "{one} and {other}",
    ),
    *("child", "head", "length", "weight", "Length", "Head", "Weight", "upper", "lower", "done", "begun"),
    *(
        "{count} done",
        "{count} begun",
        "the joined garment",
        "the whole bundle",
        "the bundle",
        "this edge",
        "this row",
        "needs a hand now",
    ),
    *(
        "bundle",
        "bundles",
        "knot",
        "knots",
        "pair",
        "pairs",
        "clip",
        "clips",
        "needles",
        "standing",
        "withdrawn",
        "edge-stitched",
        "catch",
        "Line",
    ),
    *("standing threads", "and", "work"),
    *(f"{{share}} % {fibre}" for fibre in ("linen", "cotton", "silk", "wool")),
    *(
        "Enter an e-mail address like name@example.org.",
        "Open this studio first from the machine it runs on, at http://127.0.0.1.",
        "must begin and end on the fold, at x = {middle}",
        "must stay on the right of the fold, at x = {middle}",
        "must lie beyond from_mm, {self_from_mm} mm, not at {self_to_mm} mm",
        "must not be fewer than the likely hours (hours_p50)",
        "with the piece",
    ),
    *("left", "right", "top", "bottom", "top and bottom", "girl", "boy", "across", "down", "bolt", "reel", "yes", "no"),
)
"""What is shown though its shape does not say so: words that the records hold as keys, and sentences with signs."""
IGNORED = frozenset(
    [
        "iPhone",
        "iPad",
        "Android",
        "Windows",
        "Macintosh",
        "CrOS",
        "Linux",
        "Firefox",
        "Edg",
        "Edge",
        "Opera",
        "Chrome",
        "Safari",
        "sRGB",
        "Stopline",
        "Libertinus",
        "noindex",
        "Enter",
        *("um", "minor", "bp", "tenths", "hundredths", "thousandths", "id", "hash", "ms", "mg"),
    ]
) | {
    "LLLL y",
    "Libertinus Serif",
    "Cookie, Authorization",
    "HX-Request, HX-Target",
    "noindex, nofollow",
    "known browser",
    "16 CFR 1610.1(d)",
}
