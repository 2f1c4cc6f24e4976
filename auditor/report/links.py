"""Where a site's page is: a file name that any id can have, the same from month to month."""

import hashlib
import re
from pathlib import Path

from auditor.report.rows import Row
from auditor.wording import short

FOLDER = "sites"
PATTERN = re.compile(r"[A-Za-z0-9-]*-[0-9a-f]{8}\.html")


def page_name(site_id: str) -> str:
    """The file in the folder of site pages, such as "L-0108-3fa2c15e.html".

    Ids may hold slashes, dots or letters that some file system does not take, or that it takes for others
    (``a``, ``A``): the digits tell them apart, the rest is to be recognised by.
    """
    plain = re.sub(r"[^A-Za-z0-9]+", "-", site_id).strip("-")[:40]
    return f"{plain}-{hashlib.sha256(site_id.encode()).hexdigest()[:8]}.html"


def pages_in(out: Path) -> list[str]:
    """Pages that an earlier run left in ``out``: where their sites have none now, they would be believed."""
    return [f"{FOLDER}/{path.name}" for path in (out / FOLDER).glob("*.html") if PATTERN.fullmatch(path.name)]


class Places:
    """Sites as other pages name them; the first ``pages`` by rank have a page of their own."""

    def __init__(self, pages: int) -> None:
        self.pages = pages

    def __call__(self, row: Row, name: str = "name") -> Row:
        """What is needed of a row with ``site_id``, ``rank``, a name and perhaps a region."""
        key, rank = row["site_id"], row["rank"]
        return {
            "site_id": key,
            "rank": rank,
            "label": short(row[name] or key),
            "region": row.get("region"),
            "page": f"{FOLDER}/{page_name(key)}" if rank and rank <= self.pages else "",
        }
