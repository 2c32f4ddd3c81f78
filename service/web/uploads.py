"""Photos as they are sent: read part by part within limits, so that what was typed beside them is never lost."""

from collections.abc import AsyncGenerator, Iterable
from dataclasses import dataclass

from fastapi import Request
from starlette.datastructures import UploadFile
from starlette.formparsers import MultiPartException, MultiPartParser
from starlette.requests import ClientDisconnect

from service.errors import NoRoom, NotAPicture, Refusal, TooLarge, Unreadable
from service.studio.photos import MOST_AT_ONCE
from service.studio.pictures import MOST_BYTES, Picture, picture_of
from service.web.forms import Form

MOST_SENT = 100_000_000
MOST_ANYHOW = 10**12
"""The limit above which the framework's own bare answer would come; below it our sentence does."""

LIMITS = (
    f"JPEG, PNG or WebP; up to {MOST_AT_ONCE} at once, at most {MOST_BYTES // 1_000_000} MB each and "
    f"{MOST_SENT // 1_000_000} MB together."
)
TOO_MUCH = f"That is too much at once: at most {MOST_SENT // 1_000_000} MB together. Send fewer at a time."
TOO_MANY = f"Those are too many photos: choose up to {MOST_AT_ONCE} at once."
CUT = "The sending was cut off before everything had arrived. Nothing was kept; please send it again."
NONE = "Choose at least one photo."
NO_ROOM = "There is no room left to take photos in, so nothing was kept. Tell whoever looks after the service."


@dataclass(frozen=True, slots=True)
class Sent:
    """What was typed, the files that came with it, and the answer's status if they cannot be taken."""

    form: Form
    files: tuple[UploadFile, ...] = ()
    status: int = 422

    def close(self) -> None:
        """Let go of what lay aside of the files."""
        for file in self.files:
            file.file.close()


class _TooMuch(Exception):
    pass


async def read_sent(request: Request) -> Sent:
    """The form with its files, or with a sentence at the field of the photos where they cannot be taken."""
    if not request.headers.get("content-type", "").startswith("multipart/form-data"):
        return _refused([], 422, NONE)
    parser = MultiPartParser(
        request.headers, _within(request.stream()), max_files=MOST_AT_ONCE, max_fields=20, max_part_size=20_000
    )
    try:
        await parser.parse()
    except _TooMuch:
        return _refused(parser.items, 413, TOO_MUCH)
    except MultiPartException as odd:
        many = odd.message.startswith("Too many files")
        return _refused(parser.items, 413 if many else 422, TOO_MANY if many else CUT)
    except ClientDisconnect:
        return _refused(parser.items, 422, CUT)
    except OSError:
        return _refused(parser.items, 507, NO_ROOM)
    return Sent(_form(parser.items), tuple(value for _, value in parser.items if isinstance(value, UploadFile)))


def pictures_in(sent: Sent) -> tuple[list[Picture], int]:
    """The pictures sent, and the answer's status: every photo that cannot be kept is named in the form."""
    # A browser sends one empty file for a field in which nothing was chosen.
    chosen = [file for file in sent.files if file.filename or file.size]
    if not chosen:
        sent.form.fault("photos", NONE)
    pictures: list[Picture] = []
    faults: list[str] = []
    status = sent.status
    for file in chosen:
        try:
            pictures.append(picture_of(file.file.read(MOST_BYTES + 1)))
        except (NotAPicture, TooLarge, Unreadable) as refused:
            status = refused.status
            faults.append(f"{_called(file)}: {_sentence(refused)}" if len(chosen) > 1 else _sentence(refused))
        except OSError as odd:
            raise NoRoom(NO_ROOM) from odd
    if faults:
        sent.form.fault("photos", " ".join(faults))
    return pictures, status


def _sentence(refused: Refusal) -> str:
    return refused.faults["photos"] if isinstance(refused, Unreadable) else refused.sentence


def _called(file: UploadFile) -> str:
    """What the sender calls the file, without any path."""
    last = (file.filename or "").replace("\\", "/").rpartition("/")[2]
    return "".join(letter for letter in last if letter.isprintable())[:60] or "A photo"


async def _within(stream: AsyncGenerator[bytes, None]) -> AsyncGenerator[bytes, None]:
    arrived = 0
    async for chunk in stream:
        arrived += len(chunk)
        if arrived > MOST_SENT:
            raise _TooMuch
        yield chunk


def _form(items: Iterable[tuple[str, str | UploadFile]]) -> Form:
    return Form({name: value for name, value in items if isinstance(value, str)})


def _refused(items: Iterable[tuple[str, str | UploadFile]], status: int, sentence: str) -> Sent:
    form = _form(items)
    form.fault("photos", sentence)
    return Sent(form, (), status)
