"""Our own style sheets and scripts as they are sent: packed once, and the same whichever way they come."""

import gzip
import hashlib
import re

from service.web.render import HTMX_NAME, HTMX_SHA256
from tests.serving import Live

ADDRESS = re.compile(r'(?:src|href)="(/static/[^"]+\.(?:css|js)[^"]*)"')


def test_a_file_of_ours_comes_packed_and_plain_with_the_same_words(live: Live) -> None:
    with live.visitor() as visitor:
        addresses = set(ADDRESS.findall(visitor.get("/login").text))
        assert len(addresses) > 2
        for address in addresses:
            plain = visitor.get(address, headers={"Accept-Encoding": "identity"})
            assert "content-encoding" not in plain.headers
            with visitor.stream("GET", address, headers={"Accept-Encoding": "gzip"}) as packed:
                body = b"".join(packed.iter_raw())
            assert (packed.headers["content-encoding"], packed.headers["vary"]) == ("gzip", "Accept-Encoding")
            assert packed.headers["content-type"] == plain.headers["content-type"]
            assert packed.headers["cache-control"] == plain.headers["cache-control"]
            assert gzip.decompress(body) == plain.content
            assert len(body) == int(packed.headers["content-length"]) < len(plain.content)


def test_the_one_script_that_is_not_ours_is_the_one_that_was_looked_at(live: Live) -> None:
    with live.visitor() as visitor:
        script = visitor.get(f"/static/{HTMX_NAME}").content
    assert hashlib.sha256(script).hexdigest() == HTMX_SHA256
