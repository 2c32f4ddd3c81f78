"""A plain model of the studio: what its rules say must stand in the records, in dictionaries and by rules of its own."""

from collections.abc import Iterable
from dataclasses import dataclass, field

OPEN = ("planned", "in work")
UNDONE = ("planned", "in work", "finished")
DONE_ONCE = ("panel", "section")  # of these units a cloth cannot turn out to hold more


@dataclass
class PlainStep:
    """One operation, in tenths of its unit."""

    operation: str
    unit: str
    panel: int | None
    quantity: int
    done: int = 0


@dataclass
class PlainOffer:
    """Panels on their way into other hands."""

    panels: frozenset[int]
    givers: frozenset[int | None]
    to: int | None
    by: int
    needles: int
    state: str = "offered"
    missing: int = 0

    def is_of(self, account: int, stitcher: int | None, *, is_owner: bool) -> bool:
        """Whether she offers, gives or is to have it, or is the owner."""
        of_hers = stitcher is not None and stitcher in {*self.givers, self.to}
        return is_owner or account == self.by or of_hers


@dataclass
class PlainPiece:
    """A garment: its steps, who holds each panel, what is offered."""

    commission: int
    steps: dict[int, PlainStep]
    holders: dict[int, int | None]
    holder: int | None = None
    joined: bool = False
    state: str = "planned"
    offers: dict[int, PlainOffer] = field(default_factory=dict)
    takers: dict[int, int] = field(default_factory=dict)
    """Whose account took a panel last."""
    out: dict[int, int] = field(default_factory=dict)
    """Needles that came with it and are not counted in, by whose account took them."""

    def offered(self, panels: frozenset[int], to: int | None, by: int, needles: int) -> PlainOffer:
        """Those of the panels that are not there yet, offered out of the hands they are in."""
        moving = frozenset(panel for panel in panels if self.holders[panel] != to)
        return PlainOffer(moving, frozenset(self.holders[panel] for panel in moving), to, by, needles)

    def in_hands(self, stitcher: int, panel: int | None) -> bool:
        """Whether she holds the panel, or once it is joined the garment."""
        if panel is not None and not self.joined:
            return self.holders[panel] == stitcher
        return self.holder == stitcher

    def settle(self) -> None:
        """Cut out and in the same hands is joined; cut out no longer is joined no longer."""
        if any(step.operation == "cut_out" and step.done < step.quantity for step in self.steps.values()):
            self.joined, self.holder = False, None
        elif len(set(self.holders.values())) == 1:
            self.joined, self.holder = True, next(iter(self.holders.values()))

    def counted(self, step_id: int, change: int, kind: str) -> None:
        """So much more or less is done."""
        step = self.steps[step_id]
        step.done += change
        if self.state == "planned" and kind == "work":
            self.state = "in work"
        if step.operation == "cut_out":
            self.settle()

    def offered_panels(self) -> frozenset[int]:
        """What is on its way just now."""
        return frozenset().union(*(offer.panels for offer in self.offers.values() if offer.state == "offered"))

    def may_offer(self, panels: frozenset[int], to: int | None, stitcher: int | None) -> bool:
        """Whether these may be offered by the owner (no stitcher's number) or by this stitcher."""
        if self.state not in UNDONE or (stitcher is not None and any(self.holders[p] != stitcher for p in panels)):
            return False
        if (self.joined and panels != frozenset(self.holders)) or panels & self.offered_panels():
            return False
        staying = {panel for panel in panels if self.holders[panel] == to}
        return staying != panels and (not staying or panels == frozenset(self.holders))

    def may_take(self, offer: PlainOffer, needles: int) -> bool:
        """Whether the receiver may take it, so many needles counted in: it stands, and all that moves together does."""
        stands = offer.state == "offered" and self.state in UNDONE and needles <= offer.needles
        return stands and (not self.joined or offer.panels == frozenset(self.holders))

    def take(self, offer: PlainOffer, needles: int, by: int) -> None:
        """The panels move with their needles, and whatever was not counted in is missing."""
        offer.state, offer.missing = "taken", offer.needles - needles
        left = offer.needles
        givers = [self.takers[panel] for panel in sorted(offer.panels) if panel in self.takers]
        for giver in dict.fromkeys([*givers, offer.by]):
            gone = min(left, self.out.get(giver, 0))
            self.out[giver] = self.out.get(giver, 0) - gone
            left -= gone
        self.out[by] = self.out.get(by, 0) + needles
        self.takers |= dict.fromkeys(offer.panels, by)
        for panel in offer.panels:
            self.holders[panel] = offer.to
        self.settle()

    @property
    def may_leave(self) -> bool:
        """Whether no needle is missing or out and nothing is on its way."""
        settled = all(offer.state != "offered" and not offer.missing for offer in self.offers.values())
        return settled and not any(self.out.values())

    @property
    def is_worked(self) -> bool:
        """Whether nothing is left to do."""
        return all(step.done >= step.quantity for step in self.steps.values())


@dataclass
class PlainQuote:
    """One version of a quote or alteration."""

    commission: int
    kind: str
    version: int
    total: int
    state: str = "draft"
    seal: str = ""


@dataclass
class PlainStudio:
    """All of it."""

    pieces: dict[int, PlainPiece] = field(default_factory=dict)
    quotes: dict[int, PlainQuote] = field(default_factory=dict)
    tallies: dict[int, tuple[int, int]] = field(default_factory=dict)
    """The entries of work that may be taken back: the garment and the step."""
    counts: int = 0
    paid: dict[int, tuple[int, int]] = field(default_factory=dict)
    """Payments that stand: the commission, and what came (below nothing: went back)."""
    commissions: dict[int, tuple[int, str]] = field(default_factory=dict)
    """The client, and the state."""
    erased: set[int] = field(default_factory=set)

    def of(self, commission: int) -> Iterable[PlainPiece]:
        """The garments of a commission."""
        return (piece for piece in self.pieces.values() if piece.commission == commission)

    def quotes_of(self, commission: int, kind: str, state: str) -> list[PlainQuote]:
        """Its quotes of a kind in a state."""
        found = self.quotes.values()
        return [quote for quote in found if (quote.commission, quote.kind, quote.state) == (commission, kind, state)]

    def owed(self, commission: int) -> int:
        """What was accepted less what was paid."""
        agreed = sum(q.total for q in self.quotes.values() if (q.commission, q.state) == (commission, "accepted"))
        return agreed - sum(amount for of, amount in self.paid.values() if of == commission)

    def state_of(self, commission: int) -> str:
        """How far a commission is."""
        return self.commissions[commission][1]

    def becomes(self, commission: int, state: str, when: tuple[str, ...]) -> None:
        """A commission goes on, if it stands in one of these states."""
        client, now = self.commissions[commission]
        if now in when:
            self.commissions[commission] = (client, state)

    def send(self, quote: PlainQuote) -> None:
        """A draft is sent; what was sent before it is taken back."""
        for older in self.quotes_of(quote.commission, quote.kind, "sent"):
            older.state = "taken back"
        quote.state = "sent"
        self.becomes(quote.commission, "quoted", ("asked",))

    def may_accept(self, quote: PlainQuote) -> bool:
        """Whether a yes to it is taken."""
        agreed = bool(self.quotes_of(quote.commission, "quote", "accepted"))
        over = self.state_of(quote.commission) in {"closed", "called off"}
        return quote.state == "sent" and not over and agreed == (quote.kind == "alteration")

    def accept(self, quote: PlainQuote) -> None:
        """A yes."""
        quote.state = "accepted"
        self.becomes(quote.commission, "agreed", ("asked", "quoted"))

    def take_quote_back(self, quote: PlainQuote) -> bool:
        """What was sent or accepted is taken back, unless an alteration of it is agreed."""
        if quote.state not in {"sent", "accepted"}:
            return False
        accepted = quote.kind == "quote" and quote.state == "accepted"
        if accepted and self.quotes_of(quote.commission, "alteration", "accepted"):
            return False
        if quote.kind == "quote":
            self.becomes(quote.commission, "asked", ({"sent": "quoted", "accepted": "agreed"}[quote.state],))
        quote.state = "taken back"
        return True

    def call_off(self, commission: int) -> bool:
        """A commission is called off with all of it that is not delivered."""
        client, state = self.commissions[commission]
        if state == "called off":
            return False
        for piece in self.of(commission):
            if piece.state in UNDONE:
                piece.state = "called off"
                for offer in piece.offers.values():
                    offer.state = "sent back" if offer.state == "offered" else offer.state
        self.commissions[commission] = (client, "called off")
        return True

    def may_erase(self, client: int) -> bool:
        """Whether nothing of hers is open."""
        return all(state in {"closed", "called off"} for whose, state in self.commissions.values() if whose == client)
