"""Refusals: what the studio will not do, each with a status and a sentence that says what next."""


class Refusal(Exception):
    """The base of every refusal: `sentence` is for people, `status` for the answer."""

    status = 400
    title = "Not possible"

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


class NotFound(Refusal):
    """There is no such record, or none that this person may see."""

    status = 404
    title = "Not found"


class NotAllowed(Refusal):
    """This person may not do it."""

    status = 403
    title = "Not yours to do"


class SignInNeeded(Refusal):
    """Nobody is signed in."""

    status = 401
    title = "Sign in first"


class Conflict(Refusal):
    """It cannot be done as things stand: out of order, already done, or said differently before."""

    status = 409
    title = "Not as things stand"


class TooMany(Refusal):
    """Too many tries in too short a time."""

    status = 429
    title = "Wait a little"


class TooLarge(Refusal):
    """More was sent than is taken at once."""

    status = 413
    title = "Too large"


class NotAPicture(Refusal):
    """What was sent is no picture of a kind that can be kept."""

    status = 415
    title = "Not a photo that can be kept"


class NoRoom(Refusal):
    """It cannot be written where it should be kept."""

    status = 507
    title = "No room left"


class Unreadable(Refusal):
    """What was sent cannot be taken: `faults` holds a sentence a field."""

    status = 422
    title = "There is a problem"

    def __init__(self, faults: dict[str, str]) -> None:
        super().__init__("; ".join(f"{field}: {text}" if field else text for field, text in faults.items()))
        self.faults = faults
