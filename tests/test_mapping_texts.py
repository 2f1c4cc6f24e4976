"""Headers that are not what a map says, and bytes that are not what they seem: one sentence each."""

from pathlib import Path

import pytest

from auditor.mapping import grids, mapped_tables

from .mapping_case import MAP, refusal, tables


def test_a_column_that_is_not_there_is_named_with_the_nearest(tmp_path: Path) -> None:
    (tmp_path / "export.csv").write_text("Circuits,Load\nA,1\n")
    assert refusal(tmp_path) == (
        'm.toml: [circuits] export.csv has no column "Circuit"; did you mean "Circuits"?'
    )


def test_where_no_column_is_like_it_the_header_is_shown(tmp_path: Path) -> None:
    (tmp_path / "export.csv").write_text("Plan of Oct,,,,,,,\nCircuit,Load\nA,1\n")
    assert refusal(tmp_path) == (
        'm.toml: [circuits] export.csv has no column "Circuit"; it has "Plan of Oct": header_row must be the '
        "row of the names."
    )


def test_of_two_columns_of_one_name_neither_is_taken(tmp_path: Path) -> None:
    (tmp_path / "export.csv").write_text("Circuit,On,Circuit\nA,1,B\n")
    assert '"Circuit" stands twice in the header of export.csv; write {Circuit (1)} or another.' in refusal(
        tmp_path
    )
    (table,) = tables(tmp_path, MAP.replace("{Circuit}", "{Circuit (2)}"))
    assert table.frame["circuit_id"].to_list() == ["B"]


def test_bytes_that_the_encoding_does_not_know_cost_their_row_alone(tmp_path: Path) -> None:
    (tmp_path / "export.csv").write_bytes("Circuit,Load\nHof é ü,1\nB".encode() + b"\xff,1\nC,1\n")
    (table,) = tables(tmp_path)
    assert table.frame["circuit_id"].to_list() == ["Hof é ü", "C"]
    assert [row.source_row for row in table.rejections] == [3]


def test_halves_of_letters_cost_their_row_and_do_not_change_how_the_others_read(tmp_path: Path) -> None:
    """A lone surrogate as some programs write it, U+D800 in three bytes (RFC 3629, section 3, forbids it)."""
    (tmp_path / "export.csv").write_bytes(b"Circuit,Load\nA,1\nB\xed\xa0\x80,1\nC,1\n")
    (table,) = tables(tmp_path)
    assert table.frame["circuit_id"].to_list() == ["A", "C"]
    assert [(row.source_row, row.reason) for row in table.rejections] == [
        (3, "a cell has bytes that its encoding does not know; save the file as UTF-8, or set encoding")
    ]


def test_of_encodings_that_fit_about_as_well_the_common_one_is_taken_and_said(tmp_path: Path) -> None:
    text = "N°;Bâtiment;Ouverture\n0011;Médiathèque de l'Écluse;9 h\n0012;Musée du Sel;10h00\n"
    (tmp_path / "export.csv").write_bytes(text.encode("cp1252"))
    (tmp_path / "m.toml").write_text(MAP.replace("{Circuit}", "{N°}"), encoding="utf-8")
    (table,), notices = mapped_tables([tmp_path / "m.toml"])
    assert table.frame["circuit_id"].to_list() == ["0011", "0012"]
    assert [said.startswith("export.csv: not UTF-8, read as cp1252; settle it") for said in notices] == [True]


def test_a_file_of_more_rows_than_the_limit_is_refused_with_the_number(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert grids.MOST_ROWS == 2_000_000  # as the README says
    monkeypatch.setattr(grids, "MOST_ROWS", 3)
    (tmp_path / "export.csv").write_text("Circuit\nA\nB\n")  # the header is one
    assert tables(tmp_path)[0].frame.height == 2
    (tmp_path / "export.csv").write_text("Circuit\nA\nB\nC\n")
    assert refusal(tmp_path) == "export.csv has more than 3 rows or 2,000 columns; give it in parts."
