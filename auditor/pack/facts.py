"""All that a pack says of a site, as facts that JSON can hold: the document is drawn from these alone."""

from collections.abc import Iterator

from auditor.codes import Codes, own_files
from auditor.evidence import Evidence
from auditor.pack.fixed import CANNOT_SHOW, CAUTIONS, METHOD
from auditor.pack.items import Decided, staying
from auditor.pack.sequence import sequence, sun_words
from auditor.report.devices import device_view
from auditor.report.rows import Groups, Row, by, fetch, rows_of
from auditor.resources import query
from auditor.store import Connection
from auditor.wording import hours_text

FORM_OF_FACTS = "3"  # of reports/evidence/schema.json
_OF_SITE = (
    *("site_id", "name", "address", "region", "site_type", "latitude", "longitude"),
    *("timezone", "timezone_looked_up"),
)
_OF_CIRCUIT = (
    *("circuit_id", "controller_id", "name", "area", "connected_watts", "luminaire_watts"),
    *("mounting_height_m", "floor_area_m2", "override_minutes", "must_be_lit", "exempt_reason"),
    *("combine", "hold"),
)


def site_facts(
    connection: Connection, found: Evidence, codes: Codes, edition: str | None, versions: Row
) -> Iterator[Row]:
    """The facts of each site that ``found`` is about, in the order that was asked for.

    ``connection`` still holds the tables of the evidence; ``edition`` is what the command asked for.
    """
    connection.execute(query("pack/scope.sql"))
    shelves = _shelves(connection)
    shared = _shared(connection, versions)
    decided = Decided(found, codes)
    for site in _asked(connection, "site", edition=edition):
        files = shared["files"] + _code_files(codes, site["edition"])
        facts = shared | {"files": files} | _site(site, shelves, codes)
        items = decided.items(site["site_id"])
        yield facts | {"items": [item | {"stay_lit": staying(item["rows"], facts)} for item in items]}


def _asked(connection: Connection, name: str, **params: object) -> list[Row]:
    return rows_of(connection, query(f"pack/{name}.sql"), **params)


def _shelves(connection: Connection) -> dict[str, Groups]:
    """Rows of the report's queries and of the pack's own, under the id that they are asked for by."""
    keys = {"clock_errors": "controller_id", "sensors": "circuit_id"}
    report = ("devices", "clock_errors", "circuits", "sensors", "hours")
    own = ("load", "unused", "staying", "closures", "claims", "findings", "unseen", "rejected")
    shelves = {name: by(fetch(connection, name), keys.get(name, "site_id")) for name in report}
    shelves |= {name: by(_asked(connection, name), "site_id") for name in own}
    shelves["site_sensors"] = by(_asked(connection, "sensors"), "site_id")
    shelves["sun"] = by(_asked(connection, "sun"), "controller_id")
    shelves["steps"] = by(fetch(connection, "steps"), "for_sensor", "target")
    return shelves


def _shared(connection: Connection, versions: Row) -> Row:
    """What is the same for every site: versions, period, files."""
    (period,) = rows_of(connection, "FROM period")
    (portfolio,) = rows_of(connection, "FROM portfolio")
    made = dict(connection.execute("SELECT name, version FROM versions").fetchall())
    last = connection.execute("SELECT first_date + days - 1 FROM period").fetchone()
    return {
        "form": FORM_OF_FACTS,
        "program": versions,
        "audited_with": made,
        "portfolio": portfolio["name"],
        "period": {"first_date": period["first_date"], "last_date": last[0] if last else None}
        | {"days": period["days"], "newest_read_at_utc": period["newest_read_at_utc"]},
        "margins_minutes": {
            "hours": period["hours_margin_s"] / 60,
            "daylight": period["daylight_margin_s"] / 60,
        },
        "files": [
            {"file": row["source_file"], "holds": row["holds"], "sha256": row["sha256"]}
            | {name: row[name] for name in ("rows", "kept", "rejected", "skipped")}
            for row in _asked(connection, "inputs")
        ],
        "cautions": list(CAUTIONS),
        "method": list(METHOD),
        "cannot_show": list(CANNOT_SHOW),
    }


def _site(site: Row, shelves: dict[str, Groups], codes: Codes) -> Row:
    key = site["site_id"]

    def own(name: str) -> list[Row]:
        return shelves[name].get(key, [])

    return {
        "site": {name: site[name] for name in _OF_SITE} | {"source": source(site)},
        "edition": _edition(site, codes),
        "hours": hours_text(own("hours")) or None,
        "hours_source": [source(row) for row in own("hours")],
        "devices": [_device(row, shelves) for row in own("devices")],
        "circuits": [
            {name: row[name] for name in _OF_CIRCUIT} | {"source": source(row)} for row in own("circuits")
        ],
        "sensors": [
            _plain(row, "site_id") | {"circuits": row["circuits"] or []} for row in own("site_sensors")
        ],
        "not_in_use": [_plain(row, "site_id") for row in own("unused")],
        "must_stay_lit": [_plain(row, "site_id") for row in own("staying")],
        "connected_load": [_plain(row, "site_id") for row in own("load")],
        "sequence": sequence(own("circuits"), shelves),
        "closures": [_plain(row, "site_id") | {"circuits": row["circuits"] or []} for row in own("closures")],
        "exemptions": [_claim(row) for row in own("claims")],
        "findings": [_plain(row, "site_id") for row in own("findings")],
        "not_evaluated": [_plain(row, "site_id") for row in own("unseen")],
        "rejected": [_plain(row, "site_id") for row in own("rejected")],
    }


def source(row: Row) -> Row:
    """Where a row of the store comes from."""
    return {"file": row["source_file"], "row": row["source_row"]}


def _plain(row: Row, *left_out: str) -> Row:
    """A row with its source as other facts have it."""
    kept = {name: cell for name, cell in row.items() if name not in (*left_out, "source_file", "source_row")}
    return kept | ({"source": source(row)} if "source_file" in row else {})


def _edition(site: Row, codes: Codes) -> Row | None:
    """Which edition is asked, and by whom; ``title`` is None where it is not among the codes."""
    if site["edition"] is None:
        return None
    known = codes.get(site["edition"])
    return {
        "id": site["edition"],
        "title": known.title if known else None,
        "amends": (known.amends or None) if known else None,
        "own_file": known.path.name if known and known.own else None,
        "given_by": site["given_by"],
    }


def _code_files(codes: Codes, edition: str | None) -> list[Row]:
    """The user's own files of codes that the edition of a site stands in, as other files are told."""
    return [
        {"file": found.path.name, "holds": ["code edition"], "sha256": found.sha256}
        | dict.fromkeys(("rows", "kept", "rejected", "skipped"))
        for found in own_files(codes, edition or "")
    ]


def _device(device: Row, shelves: dict[str, Groups]) -> Row:
    key = device["controller_id"]
    view = device_view(device, shelves["clock_errors"].get(key, []))
    told = {name: view[name] for name in ("controller_id", "clock", "rule", "place", "hold", "remote")}
    moments = {name: device[name] for name in ("read_at_utc", "clock_reading_local", "last_contact_utc")}
    told |= {"sun": sun_words(shelves["sun"].get(key, []))}
    return told | moments | {"clock_backup_hours": device["clock_backup_hours"], "source": source(device)}


def _claim(row: Row) -> Row:
    told = {name: row[name] for name in ("circuit_id", "name", "area", "must_be_lit", "exempt_reason")}
    waiver = {"file": row["waiver_file"], "row": row["waiver_row"]} if row["waiver_file"] else None
    return (
        told
        | {name: row[name] for name in ("looked_at_by", "waiver_reason", "expires")}
        | {"source": source(row), "waiver": waiver}
    )
