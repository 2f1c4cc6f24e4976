"""Pages as PDF: the only import of WeasyPrint, which is an extra."""

from typing import Any, Literal

from auditor.errors import UserError

Paper = Literal["a4", "letter"]
PAPERS: tuple[Paper, ...] = ("a4", "letter")
_HOW = "install it with pip install 'fleet-schedule-auditor[pdf]'"


def printed(html: str, paper: Paper, turned: bool = False) -> bytes:
    """The page as PDF/UA-1, with bookmarks, page numbers and tags; ``turned``: the paper lies on its side.

    Same page, same bytes.

    Raises UserError where WeasyPrint, or the Pango that it draws letters with, is not there.
    """
    weasyprint = library()
    way = "landscape" if turned else "portrait"
    size = weasyprint.CSS(string=f"@page {{ size: {paper} {way} !important; }}")
    wanted = {"pdf_variant": "pdf/ua-1", "pdf_identifier": b"auditor"}
    nothing = weasyprint.urls.URLFetcher(allowed_protocols=())  # a page of ours asks for nothing anyway
    page = weasyprint.HTML(string=html, url_fetcher=nothing)
    content: bytes = page.write_pdf(stylesheets=[size], **wanted)
    return content


def library() -> Any:
    """WeasyPrint; raises UserError where it, or what it needs, is not there."""
    try:
        import weasyprint
    except ImportError as error:
        raise UserError(
            f"PDF needs the package weasyprint; {_HOW}, or print the pages from a browser."
        ) from error
    except OSError as error:  # raised where a library of the system is not found
        needed = "install Pango, on Debian apt-get install libpango-1.0-0 libpangoft2-1.0-0"
        raise UserError(f"PDF needs the system's library Pango; {needed}, or leave --pdf out.") from error
    return weasyprint
