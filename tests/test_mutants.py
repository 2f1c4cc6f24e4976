"""The changes that mutation testing (``tests/mutation/run.py``) makes, and those that are explained."""

from tests.mutation.run import ROOT, key, known_equivalent
from tests.mutation.sql import sql_mutants

QUERY = "SELECT coalesce(a, 1) FROM t WHERE b > 2 AND c IN ('on', 'x')\n"
CHANGES = {  # from, to: read off QUERY
    ("coalesce(a, 1)", "(a)"),
    (", 1)", ", 2)"),
    ("> 2", ">= 2"),
    ("> 2", "<= 2"),
    ("> 2", "> 3"),
    ("b > 2 AND", "true AND"),
    ("AND c IN ('on', 'x')", "AND true"),
    ("AND", "OR"),
    ("'on'", "'off'"),
    ("'on',", ""),
    (", 'x'", ""),
}


def test_a_query_is_changed_in_one_place_at_a_time() -> None:
    assert {mutant.text for mutant in sql_mutants("x.sql", QUERY)} == {
        QUERY.replace(was, becomes) for was, becomes in CHANGES
    }


def test_comments_and_betweens_are_let_be() -> None:
    query = "SELECT a FROM t WHERE a BETWEEN b AND c -- or 2 > 1\n"
    assert [mutant.becomes for mutant in sql_mutants("x.sql", query)] == [
        "SELECT a FROM t WHERE true -- or 2 > 1"
    ]


def test_what_is_explained_can_still_be_changed() -> None:
    explained = {found for found in known_equivalent() if found[0].endswith(".sql")}
    files = sorted({file for file, _, _ in explained})
    possible = {
        key(mutant) for file in files for mutant in sql_mutants(file, (ROOT / file).read_text("utf-8"))
    }
    assert explained - possible == set()
