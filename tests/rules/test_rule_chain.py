"""The chain of hashes: what is altered, removed, repeated or moved is said, line by line."""

import hashlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from events.rules.chain import Link, canonical, faults, follow, last_hash, line_of, start

HEAD = {"format": "clubsetup records 1", "event": "e"}
RECORDS = [{"kind": "weigh_in", "total": str(n), "by": "Ä"} for n in range(6)]


def chained(head, records):
    """As the chain grows: each line by the hash before it, and kept as text."""
    before, found = start(head), []
    for number, record in enumerate(records, start=1):
        text = line_of(record, number)
        before = follow(before, json.loads(text))
        found.append(Link(json.loads(text), before, text))
    return found


def links() -> list[Link]:
    return chained(HEAD, RECORDS)


def said(found: list[Link], **more: str) -> list[str]:
    return [str(fault) for fault in faults(HEAD, found, last=last_hash(HEAD, links()), **more)]


def test_as_anyone_can_compute_it():
    # Written out once more without our functions (FIPS 180-4 through hashlib).
    line = '{"by":"Ä","format":3,"kind":"weigh_in","line":1,"total":"0"}'
    first = hashlib.sha256(b'{"event":"e","format":"clubsetup records 1"}').hexdigest()
    assert start(HEAD) == first
    assert links()[0].hash == hashlib.sha256(f"{first}\n{line}".encode()).hexdigest()


def test_the_canonical_line_does_not_depend_on_the_order_of_keys():
    assert canonical({"b": 1, "a": "x"}) == canonical({"a": "x", "b": 1}) == '{"a":"x","b":1}'


def test_what_is_no_json_is_refused():
    with pytest.raises(ValueError):
        canonical({"a": float("nan")})


def test_what_nobody_touched_has_no_fault():
    assert said(links()) == []
    assert faults(HEAD, [], last=start(HEAD), printed=start(HEAD)) == []


@pytest.mark.parametrize("line", range(1, 7))
def test_an_altered_line_is_named_and_no_other(line):
    found = links()
    old = found[line - 1]
    found[line - 1] = Link({**old.record, "total": "999"}, old.hash)
    assert len(said(found)) == 1
    assert said(found)[0].startswith(f"line {line}: ")
    assert "altered" in said(found)[0]


@pytest.mark.parametrize("line", range(1, 7))
def test_a_hash_rewritten_for_one_line_shows_at_the_next_or_the_end(line):
    found = links()
    forged = {**found[line - 1].record, "total": "999"}
    before = found[line - 2].hash if line > 1 else start(HEAD)
    found[line - 1] = Link(forged, follow(before, forged))
    where = f"line {line + 1}: was altered" if line < 6 else "line 6: lines are missing at the end"
    assert said(found)[0].startswith(where)


@pytest.mark.parametrize("line", range(1, 6))
def test_a_missing_line_is_named(line):
    found = links()
    del found[line - 1]
    assert said(found) == [f"line {line}: is missing"]


def test_missing_at_the_end():
    assert said(links()[:4]) == ["line 4: lines are missing at the end: the last hash differs"]


def test_two_lines_changed_about():
    found = links()
    found[1], found[2] = found[2], found[1]
    assert said(found) == ["line 2: is out of order: it stands after line 3"]


def test_a_line_there_twice():
    found = links()
    assert said([*found[:3], found[2], *found[3:]]) == ["line 3: is there twice"]


def test_a_line_put_in():
    found = links()
    assert said([*found, Link({"kind": "weigh_in"}, "0" * 64)])[0].startswith("line 7: carries no")


def test_another_head():
    wrong = faults({**HEAD, "event": "f"}, links(), last=links()[-1].hash)
    assert [str(fault) for fault in wrong] == ["line 1: the head or this line was altered"]


def test_all_rewritten_shows_against_the_book_alone():
    book = last_hash(HEAD, links())
    forged = chained(HEAD, [{**one, "total": "1"} for one in RECORDS])
    assert faults(HEAD, forged, last=forged[-1].hash) == []
    assert len(faults(HEAD, forged, last=forged[-1].hash, printed=book)) == 1


def test_an_earlier_books_hash_is_found():
    early = chained(HEAD, RECORDS[:3])[-1].hash
    assert said(links(), printed=early) == []


@given(st.lists(st.dictionaries(st.sampled_from("abc"), st.integers() | st.text()), max_size=5))
def test_it_survives_being_written_as_json(records):
    found = chained(HEAD, records)
    back = [Link(json.loads(canonical(one.record)), one.hash) for one in found]
    assert faults(HEAD, back, last=last_hash(HEAD, found)) == []
