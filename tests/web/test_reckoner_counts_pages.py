"""The reckoner's pages for counts, conversions and bands, over HTTP as a browser asks for them."""

import httpx2

from service.web.reckoner import QUESTIONS


def test_the_reckoner_asks_every_question_it_can_answer(owner: httpx2.Client, stitcher: httpx2.Client) -> None:
    for client in (owner, stitcher):
        page = client.get("/reckoner").text
        for question in QUESTIONS:
            assert f'<a href="{question.href}">{question.words}</a>' in page
