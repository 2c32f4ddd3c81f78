"""How long a start takes until the first page is answered, in turn with the bare page."""

from tests.bench.big import Studio
from tests.bench.figures import Figure
from tests.bench.servers import free_port, limit_arguments, running, service_arguments, surroundings

TIMES = 4  # the first compiles what is not compiled yet
MOST_TIMES_OF_BARE = 4
SIZE = {"work_table": 10_000}


def measure_starts(studio: Studio) -> list[Figure]:
    """The shortest of several starts, each until its first page is there: the sign-in page, and the limit's."""
    around = surroundings(STOPLINE_BACKUP_HOURS="0")
    ours, bare = [], []
    for _ in range(TIMES):
        port = free_port()
        with running(limit_arguments(studio.file, port, SIZE), port, "/work_table", around) as limit:
            bare.append(limit.took_s)
        port = free_port()
        with running(service_arguments(studio.folder, port), port, "/login", around) as service:
            ours.append(service.took_s)
    return [
        Figure("start", "until the sign-in page is there", min(ours), f"s (bare page {min(bare):.2f})"),
        Figure("start", "in times of the bare page's", min(ours) / min(bare), "", MOST_TIMES_OF_BARE),
    ]
