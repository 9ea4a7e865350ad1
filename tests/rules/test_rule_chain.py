"""The chain of hashes: what is altered, removed, repeated or moved is said, line by line."""

import hashlib
import json
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from events.rules.chain import (
    ERASED,
    ChainLink,
    Fault,
    canonical,
    faults,
    follow,
    hashed_names,
    hide_words,
    last_hash,
    line_of,
    start,
)

HEAD = {"format": "clubsetup records 1", "event": "e"}
RECORDS = [{"kind": "weigh_in", "total": str(n), "by": "Ä"} for n in range(6)]


def chained(head: dict[str, Any], records: Sequence[dict[str, Any]]) -> list[ChainLink]:
    """As the chain grows: each line by the hash before it, and kept as text."""
    before, found = start(head), []
    for number, record in enumerate(records, start=1):
        text = line_of(record, number)
        before = follow(before, json.loads(text))
        found.append(ChainLink(json.loads(text), before, text))
    return found


def links() -> list[ChainLink]:
    return chained(HEAD, RECORDS)


def said(found: list[ChainLink], **more: str) -> list[str]:
    return [str(fault) for fault in faults(HEAD, found, last=last_hash(HEAD, links()), **more)]


def test_as_anyone_can_compute_it() -> None:
    # Written out once more without our functions (FIPS 180-4 through hashlib).
    line = '{"by":"Ä","format":3,"kind":"weigh_in","line":1,"total":"0"}'
    first = hashlib.sha256(b'{"event":"e","format":"clubsetup records 1"}').hexdigest()
    assert start(HEAD) == first
    assert links()[0].hash == hashlib.sha256(f"{first}\n{line}".encode()).hexdigest()


def test_the_canonical_line_does_not_depend_on_the_order_of_keys() -> None:
    assert canonical({"b": 1, "a": "x"}) == canonical({"a": "x", "b": 1}) == '{"a":"x","b":1}'


def test_what_is_no_json_is_refused() -> None:
    with pytest.raises(ValueError):
        canonical({"a": float("nan")})


def test_what_nobody_touched_has_no_fault() -> None:
    assert said(links()) == []
    assert faults(HEAD, [], last=start(HEAD), printed=start(HEAD)) == []


@pytest.mark.parametrize("line", range(1, 7))
def test_an_altered_line_is_named_and_no_other(line: int) -> None:
    found = links()
    old = found[line - 1]
    found[line - 1] = ChainLink({**old.record, "total": "999"}, old.hash)
    assert len(said(found)) == 1
    assert said(found)[0].startswith(f"line {line}: ")
    assert "altered" in said(found)[0]


@pytest.mark.parametrize("line", range(1, 7))
def test_a_hash_rewritten_for_one_line_shows_at_the_next_or_the_end(line: int) -> None:
    found = links()
    forged = {**found[line - 1].record, "total": "999"}
    before = found[line - 2].hash if line > 1 else start(HEAD)
    found[line - 1] = ChainLink(forged, follow(before, forged))
    where = f"line {line + 1}: was altered" if line < 6 else "line 6: lines are missing at the end"
    assert said(found)[0].startswith(where)


@pytest.mark.parametrize("line", range(1, 6))
def test_a_missing_line_is_named(line: int) -> None:
    found = links()
    del found[line - 1]
    assert said(found) == [f"line {line}: is missing"]


def test_missing_at_the_end() -> None:
    assert said(links()[:4]) == ["line 4: lines are missing at the end: the last hash differs"]


def test_two_lines_changed_about() -> None:
    found = links()
    found[1], found[2] = found[2], found[1]
    assert said(found) == ["line 2: is out of order: it stands after line 3"]


def test_a_line_there_twice() -> None:
    found = links()
    assert said([*found[:3], found[2], *found[3:]]) == ["line 3: is there twice"]


def test_a_line_put_in() -> None:
    found = links()
    assert said([*found, ChainLink({"kind": "weigh_in"}, "0" * 64)])[0].startswith(
        "line 7: carries no"
    )


def test_another_head() -> None:
    wrong = faults({**HEAD, "event": "f"}, links(), last=links()[-1].hash)
    assert [str(fault) for fault in wrong] == ["line 1: the head or this line was altered"]


def test_all_rewritten_shows_against_the_book_alone() -> None:
    book = last_hash(HEAD, links())
    forged = chained(HEAD, [{**one, "total": "1"} for one in RECORDS])
    assert faults(HEAD, forged, last=forged[-1].hash) == []
    assert len(faults(HEAD, forged, last=forged[-1].hash, printed=book)) == 1


def test_an_earlier_books_hash_is_found() -> None:
    early = chained(HEAD, RECORDS[:3])[-1].hash
    assert said(links(), printed=early) == []


def test_what_is_wrong_is_told_line_by_line_from_the_head_on() -> None:
    found = links()
    nameless = ChainLink({"kind": "weigh_in"}, "0" * 64)
    wrong = faults(HEAD, [nameless, *found[1:]], last="f" * 64, printed="e" * 64)
    assert [str(fault) for fault in wrong] == [
        "line 1: is missing",
        "line 1: carries no line number",
        "line 6: lines are missing at the end: the last hash differs",
        "line 6: the printed hash is none of this file's: lines are missing, or all was rewritten",
    ]
    assert str(Fault(0, "was altered")) == "head: was altered"


def test_nothing_is_held_against_hashes_that_nobody_named() -> None:
    assert faults(HEAD, links()[:4]) == []


def test_the_last_line_first() -> None:
    found = links()
    told = [str(fault) for fault in faults(HEAD, [found[5], *found[:5]])]
    after = "is out of order: it stands after line 6"
    assert told == [f"line {line}: {after}" for line in range(1, 6)]


@pytest.mark.parametrize("number", [None, 0, -1, True, "1", 1.0])
def test_what_is_no_line_number_is_said_and_the_lines_after_it_are_read_on(number: object) -> None:
    found = links()
    bad = ChainLink({**found[0].record, "line": number}, found[0].hash)
    altered = ChainLink({**found[3].record, "total": "999"}, found[3].hash)
    told = said([bad, *found[1:3], altered, *found[4:], found[5]])
    assert told == [
        "line 1: is missing",
        "line 1: carries no line number",
        "line 4: was altered",
        "line 6: is there twice",
    ]


class TestWords:
    """What somebody wrote stands beside its line, which holds a salted hash of it."""

    RECORD: dict[str, Any] = {
        "kind": "void",
        "reason": "Not level",
        "note": "Ä",
        "limits": {"most": "58"},
    }

    def hidden(self, salt: str = "5a17", **more: str) -> ChainLink:
        record, erasable = hide_words({**self.RECORD, "line": 1}, ("reason", "note", "why"), salt)
        assert erasable is not None
        return ChainLink(record, follow(start(HEAD), record), words={**erasable, **more})

    def test_they_are_hashed_with_the_salt_and_their_name(self) -> None:
        record, erasable = hide_words(self.RECORD, ("reason", "note", "why"), "5a17")
        assert erasable == {"salt": "5a17", "reason": "Not level", "note": "Ä"}
        digests = {
            "reason": hashlib.sha256(b"5a17\nreason\nNot level").hexdigest(),
            "note": hashlib.sha256("5a17\nnote\nÄ".encode()).hexdigest(),
        }
        hashes = {name: {"sha256": digest} for name, digest in digests.items()}
        assert record == {**self.RECORD, **hashes}
        assert hashed_names(record) == ["reason", "note"]

    def test_a_record_without_any_is_left_as_it_is(self) -> None:
        assert hide_words(self.RECORD, ("why",), "5a17") == (self.RECORD, None)
        assert hide_words({"reason": 5}, ("reason",), "5a17")[1] == {"salt": "5a17", "reason": "5"}

    def test_a_reader_is_told_them_as_far_as_they_are_there(self) -> None:
        link = self.hidden()
        assert link.readable == {**self.RECORD, "line": 1}
        erased = ChainLink(link.record, link.hash, words=ERASED)
        assert erased.readable == {**self.RECORD, "line": 1, "reason": "", "note": ""}
        assert ChainLink(self.RECORD, "0" * 64).readable == self.RECORD

    def test_erased_is_what_has_hashes_and_no_salt(self) -> None:
        link = self.hidden()
        assert link.is_erased is False
        assert ChainLink(link.record, link.hash, words=ERASED).is_erased is True
        assert ChainLink(link.record, link.hash).is_erased is True
        assert ChainLink(self.RECORD, "0" * 64).is_erased is False

    def test_altered_ones_are_named_and_erased_ones_are_no_fault(self) -> None:
        link = self.hidden()
        assert faults(HEAD, [link]) == []
        assert faults(HEAD, [ChainLink(link.record, link.hash, words=ERASED)]) == []
        assert faults(HEAD, [ChainLink(link.record, link.hash)]) == []
        told = "the words beside it were altered: "
        assert faults(HEAD, [self.hidden(note="A")]) == [Fault(1, f"{told}note")]
        assert faults(HEAD, [self.hidden(salt="0", reason="Level", note="")]) == [
            Fault(1, f"{told}reason"),
            Fault(1, f"{told}note"),
        ]
        assert [fault.problem for fault in faults(HEAD, [self.hidden(salt="x", note="A")])] == [
            f"{told}note"
        ]

    def test_words_that_are_gone_while_their_salt_is_there_were_altered(self) -> None:
        link = self.hidden()
        gone = ChainLink(link.record, link.hash, words={"salt": "5a17", "note": "Ä"})
        assert faults(HEAD, [gone]) == [Fault(1, "the words beside it were altered: reason")]

    def test_every_line_is_looked_at_and_one_without_number_is_told_of_the_head(self) -> None:
        record, erasable = hide_words({"reason": "Not level"}, ("reason",), "5a17")
        assert erasable is not None
        nameless = ChainLink(record, "0" * 64, words={**erasable, "reason": "Level"})
        plain = ChainLink(
            {"kind": "draw", "line": 1}, follow(start(HEAD), {"kind": "draw", "line": 1})
        )
        told = [str(fault) for fault in faults(HEAD, [plain, nameless])]
        assert told == [
            "head: the words beside it were altered: reason",
            "line 2: carries no line number",
        ]


@given(st.lists(st.dictionaries(st.sampled_from("abc"), st.integers() | st.text()), max_size=5))
def test_it_survives_being_written_as_json(records: list[dict[str, Any]]) -> None:
    found = chained(HEAD, records)
    back = [ChainLink(json.loads(canonical(one.record)), one.hash) for one in found]
    assert faults(HEAD, back, last=last_hash(HEAD, found)) == []
