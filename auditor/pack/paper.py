"""Pages as PDF: the only import of WeasyPrint, which is an extra."""

from typing import Any, Literal

from auditor.errors import UserError

Paper = Literal["a4", "letter"]
PAPERS: tuple[Paper, ...] = ("a4", "letter")
_HOW = "install it with pip install 'fleet-schedule-auditor[pdf]'"


def printed(html: str, paper: Paper) -> bytes:
    """The page as PDF/UA-1, with bookmarks, page numbers and tags; same page, same bytes.

    Raises UserError where WeasyPrint, or the Pango that it draws letters with, is not there.
    """
    weasyprint = _library()
    size = weasyprint.CSS(string=f"@page {{ size: {paper}; }}")
    wanted = {"pdf_variant": "pdf/ua-1", "pdf_identifier": b"auditor", "srgb": False}
    page = weasyprint.HTML(string=html, url_fetcher=_nothing)
    content: bytes = page.write_pdf(stylesheets=[size], **wanted)
    return content


def _library() -> Any:
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


def _nothing(url: str, *_: object, **__: object) -> Any:
    """A page of ours asks for nothing; whatever is in it shall fetch nothing either."""
    raise ValueError(f"not fetched: {url[:60]}")
