"""A paper of the house as a page to read or print, and as PDF on A4 or Letter."""

from fastapi.responses import Response

from service.errors import NotFound
from service.papers.paper import SIZES, Paper, paper_pdf
from service.web.deps import Desk


def show_paper(desk: Desk, paper: Paper, here: str, back: tuple[str, str]) -> Response:
    """The paper as a page; `here` is its own address, `back` where it belongs and what that is called."""
    return desk.page("papers/paper.html", "table", paper=paper, here=here, back=back)


def print_paper(paper: Paper, size: str, name: str) -> Response:
    """The paper as PDF under this name."""
    if size not in SIZES:
        raise NotFound(f"It is printed on one of {', '.join(SIZES)}.")
    pdf = paper_pdf(paper, size)
    return Response(
        pdf, media_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}.pdf"'}
    )
