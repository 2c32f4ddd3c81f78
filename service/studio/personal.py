"""Where a client's personal data lies, table by table: what is erased, and what stays because it names nobody.

A test holds this map against the tables, so that a new column of text cannot be forgotten.
"""

from dataclasses import dataclass, field

ERASED = "erased"
_CLIENT = "= :client"
_COMMISSIONS = "in (select id from commission where client_id = :client)"
_GARMENTS = "in (select id from garment where commission_id in (select id from commission where client_id = :client))"
_QUOTES = "in (select id from quote where commission_id in (select id from commission where client_id = :client))"
_HANDOVERS = (
    "in (select id from handover where garment_id in (select garment.id from garment join commission"
    " on garment.commission_id = commission.id where commission.client_id = :client))"
)
_PAYMENTS = "in (select id from payment where commission_id in (select id from commission where client_id = :client))"
_LINKS = "in (select id from share_link where commission_id in (select id from commission where client_id = :client))"
OF_A_CLIENT = (
    f"garment_id {_GARMENTS} or (object_kind = 'commission' and object_id {_COMMISSIONS})"
    f" or (object_kind = 'quote' and object_id {_QUOTES}) or (object_kind = 'payment' and object_id {_PAYMENTS})"
    f" or (object_kind = 'client' and object_id {_CLIENT})"
)
"""The events that are of a client, her commissions, garments, quotes or payments."""
STAYS: dict[str, tuple[str, ...]] = {
    "charges": ("tax_name", "includes", "leaves_out"),
    "charges_instalment": ("due",),
    "cloth": ("name", "fibre", "notes"),
    "cloth_fibre": ("fibre",),
    "cloth_reading": ("system", "place"),
    "cloth_swatch": ("system", "washed"),
    "cloth_use": ("kind",),
    "supply": ("name", "kind", "unit", "notes"),
    "supply_use": ("kind",),
    "design": ("key", "name", "state", "document"),
    "maker": ("place", "postal_address", "electronic_address"),
    "studio": ("name", "time_zone", "currency", "length_unit", "count_unit", "numbers", "language"),
    "stitcher": ("name", "notes"),
    "stitcher_away": ("note",),
    "stitcher_payment": ("key", "kind", "note"),
    "extra_minutes": ("weekday",),
    "rate_guess": ("operation",),
    "account": ("email", "name", "role", "password_hash"),
    "access_token": ("secret_sha256",),
    "calendar_link": ("secret_sha256",),
    "login_session": ("secret_sha256", "device"),
    "second_step": ("secret",),
    "recovery_code": ("code_sha256",),
    "way_in": ("kind", "secret_sha256"),
    "known_browser": ("secret_sha256",),
    "sign_in_try": ("key_sha256",),
    "commission": ("state",),
    "client_wish": ("kind",),
    "message_words": ("kind", "subject", "body"),
    "garment": ("size", "state", "document"),
    "panel": ("key", "name", "cloth_role", "side", "outline"),
    "section": (
        *("key", "name", "kind", "owner", "mirror_of", "direction", "bundle_sizes", "places", "depth_choice"),
        *("bundle_choice", "left_over_way", "side_worked", "work_direction", "loop_direction", "thread", "notes"),
    ),
    "step": ("operation", "unit", "note"),
    "tally": ("key", "kind", "body_sha256"),
    "needle_count": ("key", "way"),
    "thread_used": ("thread",),
    "broken_sharp": ("kind",),
    "finishing_check": ("what",),
    "handover": ("state", "tension"),
    "handover_material": ("what", "amount"),
    "handover_place": (
        *("pass_words", "from_end", "work_direction", "side_worked", "loop_direction", "thread", "needle"),
    ),
    "photo": ("sha256", "mime", "caption"),  # taken out one by one, with their words
    "event": ("action", "object_kind", "before", "after"),
    "event_seal": ("reason_sha256", "previous_sha256", "sha256"),
    "last_seal": ("sha256",),
    "payment": ("kind", "currency", "how"),
    "quote": ("kind", "state", "currency", "tax_name", "sealed_sha256", "studio_name", "made_by"),
    "quote_line": ("key", "kind"),
    "quote_work": ("operation",),
    "quote_instalment": ("due",),
}
"""Text that stays: it is of the work, the shelf, the studio or its people, and names no client."""


@dataclass(frozen=True, slots=True)
class Wipe:
    """The rows of one table that belong to a client, and what their columns become; no columns: the rows go.

    `said` are columns of free text: what says something becomes one plain word, what is empty stays so.
    """

    table: str
    rows: str
    becomes: dict[str, str] = field(default_factory=dict)
    said: tuple[str, ...] = ()
    goes: bool = False

    @property
    def statement(self) -> str:
        """The statement that erases them."""
        if self.goes:
            return f"delete from {self.table} where {self.rows}"  # noqa: S608 (all words are of this file)
        texts = {column: f"case when {column} <> '' then '{ERASED}' else {column} end" for column in self.said}
        parts = ", ".join(f'"{column}" = {value}' for column, value in {**self.becomes, **texts}.items())
        return f"update {self.table} set {parts} where {self.rows}"  # noqa: S608 (as above)


WIPES: tuple[Wipe, ...] = (
    Wipe(
        "client",
        f"id {_CLIENT}",
        {"name": "'Erased client ' || id", "email": "''", "phone": "''", "address": "''", "notes": "''"},
    ),
    Wipe("event", OF_A_CLIENT, said=("reason",)),
    # Without its salt the digest of a reason's words says nothing of them.
    Wipe(
        "event_seal",
        f"event_id in (select id from event where reason = '{ERASED}' and ({OF_A_CLIENT}))",  # noqa: S608 (all words are of this file)
        {"salt": "''"},
    ),
    Wipe("tally", f"garment_id {_GARMENTS}", said=("reason",)),
    Wipe("child_measure", f"commission_id {_COMMISSIONS}", goes=True),
    Wipe("kept_result", f"garment_id {_GARMENTS}", goes=True),
    Wipe("window_visit", f"share_link_id {_LINKS}", goes=True),
    Wipe("share_link", f"commission_id {_COMMISSIONS}", goes=True),
    Wipe("client_wish", f"commission_id {_COMMISSIONS}", said=("words", "answer")),
    Wipe("payment", f"commission_id {_COMMISSIONS}", said=("note",)),
    Wipe("quote_garment", f"quote_id {_QUOTES}", {"name": "'Garment ' || garment_id"}),
    Wipe("quote_line", f"quote_id {_QUOTES} and by_hand", said=("words", "source")),
    Wipe(
        "quote",
        f"id {_QUOTES}",
        {"title": "case when title <> '' then 'Commission ' || commission_id else title end"},
        ("client_name", "occasion", "includes", "leaves_out", "note", "accepted_name", "taken_back_reason"),
    ),
    Wipe("handover", f"id {_HANDOVERS}", said=("odd", "notes", "reason")),
    Wipe("finishing_check", f"garment_id {_GARMENTS}", said=("note",)),
    Wipe("risk_considered", f"garment_id {_GARMENTS}", said=("risk", "answer")),
    Wipe("cloth_use", f"garment_id {_GARMENTS}", said=("reason",)),
    Wipe("supply_use", f"garment_id {_GARMENTS}", said=("reason",)),
    Wipe("broken_sharp", f"garment_id {_GARMENTS}", said=("note", "found_note")),
    Wipe("garment", f"id {_GARMENTS}", {"name": "'Garment ' || id"}),
    Wipe(
        "commission",
        f"client_id {_CLIENT}",
        {
            "title": "'Commission ' || id",
            "occasion": "''",
            "notes": "''",
            "child_sex": "null",
            "child_born": "null",
            "born_is_due": "false",
            "gestation_weeks": "null",
        },
    ),
)
