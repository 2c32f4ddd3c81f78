"""Our own style sheets and scripts as they are sent: packed once, and the same whichever way they come."""

import gzip
import re

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
