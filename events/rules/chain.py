"""A chain of hashes over an event's records, so that any later alteration shows.

Every record is one canonical JSON line: its keys sorted, no spaces, UTF-8. It carries its own
number, from 1. Then

    h(0) = SHA-256(canonical line of the head: what the records are of)
    h(n) = SHA-256(h(n-1) in hexadecimal, a line feed, canonical line n)

(SHA-256: FIPS 180-4.) A line is kept as the text that was hashed, and is never built anew. It says
by which format its names are to be read; one that does not is of the first. Whoever alters, removes
or reorders a line has to write all hashes after it anew, and then the last one differs from the one
printed in the record book. The hash covers the records alone: names and numbers beside them are for
the reader.

Of what somebody wrote in words a line holds a salted hash. The words and the salt stand beside it,
where they can be erased; the line and all hashes after it stay as they are.
"""

import hashlib
import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

# What the names in a line mean. Raise it when a name or a value in new lines changes its meaning;
# a name added, or one left out because it is empty, changes none.
LINE_FORMAT = 3
NUMBER, FORMAT = "line", "format"
# In place of what somebody wrote in words, a line of format 3 holds {"sha256": ...}: of the salt of
# the line, the name and the words. Without the salt nobody finds short words by trying.
HASHED, SALT = "sha256", "salt"
ERASED: Mapping[str, Any] = {"erased": True}


@dataclass(frozen=True, slots=True)
class ChainLink:
    """One record with the hash that stands beside it."""

    record: Mapping[str, Any]
    hash: str
    # The line as it was hashed, where it comes from the chain itself and not from a file.
    text: str = ""
    # What stands beside it: its words with their salt, or that they were erased.
    words: Mapping[str, Any] | None = None

    @property
    def number(self) -> int | None:
        """The line number that the record carries; None where it has none."""
        number = self.record.get(NUMBER)
        return number if isinstance(number, int) and not isinstance(number, bool) else None

    @property
    def readable(self) -> Mapping[str, Any]:
        """The record for a reader: the words in place of their hashes, as far as they are there."""
        held = self.words or {}
        words = {name: held.get(name, "") for name in hashed_names(self.record)}
        return {**self.record, **words}

    @property
    def is_erased(self) -> bool:
        """Whether it holds hashes of words that are there no more."""
        return bool(hashed_names(self.record)) and SALT not in (self.words or {})


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong, and at which line; 0 is the head."""

    line: int
    problem: str

    def __str__(self) -> str:
        return f"line {self.line}: {self.problem}" if self.line else f"head: {self.problem}"


def canonical(value: Mapping[str, Any]) -> str:
    """The one way to write an object as a line of JSON."""
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )


def start(head: Mapping[str, Any]) -> str:
    """h(0), of what the records are of."""
    return hashlib.sha256(canonical(head).encode()).hexdigest()


def follow(before: str, record: Mapping[str, Any]) -> str:
    """h(n), from h(n-1) and record n."""
    return hashlib.sha256(f"{before}\n{canonical(record)}".encode()).hexdigest()


def hash_of_words(salt: str, name: str, words: str) -> str:
    """What a line holds in place of the words of `name`."""
    return hashlib.sha256(f"{salt}\n{name}\n{words}".encode()).hexdigest()


def hashed_names(record: Mapping[str, Any]) -> list[str]:
    """What of a line are hashes of words."""
    return [
        name for name, value in record.items() if isinstance(value, Mapping) and HASHED in value
    ]


def hide_words(
    record: Mapping[str, Any], names: Collection[str], salt: str
) -> tuple[dict[str, Any], dict[str, str] | None]:
    """The record with hashes in place of its words of these names, and the words with their salt;
    None where it has none."""
    words = {name: str(record[name]) for name in names if name in record}
    hashes = {name: {HASHED: hash_of_words(salt, name, text)} for name, text in words.items()}
    return {**record, **hashes}, {SALT: salt, **words} if words else None


def line_of(record: Mapping[str, Any], number: int) -> str:
    """The line of a new record at its place."""
    return canonical({**record, NUMBER: number, FORMAT: LINE_FORMAT})


def last_hash(head: Mapping[str, Any], links: Sequence[ChainLink]) -> str:
    """The hash that stands for all of it; of nothing recorded, that of the head."""
    return links[-1].hash if links else start(head)


def faults(
    head: Mapping[str, Any],
    links: Sequence[ChainLink],
    *,
    last: str | None = None,
    printed: str | None = None,
) -> list[Fault]:
    """Everything that is wrong with a file of records, in the order of its lines.

    `last` is what the file itself says its last hash is, `printed` what stands in a record book:
    that of an earlier book is found too, since the chain only grows.
    """
    wrong = [*_numbering(links), *_hashes(head, links), *_words(links)]
    end = last_hash(head, links)
    if last is not None and last != end:
        wrong.append(Fault(len(links), "lines are missing at the end: the last hash differs"))
    known = {start(head), *(link.hash for link in links)}
    if printed is not None and printed not in known:
        problem = "the printed hash is none of this file's: lines are missing, or all was rewritten"
        wrong.append(Fault(len(links), problem))
    return sorted(wrong, key=lambda fault: fault.line)


def _numbering(links: Sequence[ChainLink]) -> list[Fault]:
    """Lines that are missing, there twice, or not where their number says."""
    numbers = [link.number for link in links]
    known = {number for number in numbers if number is not None}
    faults_found = [
        Fault(number, "is missing")
        for number in range(1, max(known, default=0) + 1)
        if number not in known
    ]
    highest, seen = 0, set[int]()
    for place, number in enumerate(numbers, start=1):
        if number is None or number < 1:
            faults_found.append(Fault(place, "carries no line number"))
            continue
        if number in seen:
            faults_found.append(Fault(number, "is there twice"))
        elif number < highest:
            faults_found.append(Fault(number, f"is out of order: it stands after line {highest}"))
        seen.add(number)
        highest = max(highest, number)
    return faults_found


def _hashes(head: Mapping[str, Any], links: Sequence[ChainLink]) -> list[Fault]:
    """Lines that are not what their hash was made of, each held to the hash before it as given,
    so that one altered line is one fault and not the end of the chain."""
    hashes = {0: start(head)} | {link.number: link.hash for link in links if link.number}
    faults_found = []
    for link in links:
        number = link.number
        if number is None or number - 1 not in hashes:
            continue  # its number is missing, or the line before it; said elsewhere
        if follow(hashes[number - 1], link.record) != link.hash:
            what = "the head or this line was altered" if number == 1 else "was altered"
            faults_found.append(Fault(number, what))
    return faults_found


def _words(links: Sequence[ChainLink]) -> list[Fault]:
    """Words beside a line that are not those it holds the hashes of. Erased ones are no fault."""
    faults_found = []
    for link in links:
        words = link.words or {}
        for name in hashed_names(link.record) if SALT in words else ():
            actual = hash_of_words(str(words[SALT]), name, str(words.get(name, "")))
            if actual != link.record[name][HASHED]:
                faults_found.append(
                    Fault(link.number or 0, f"the words beside it were altered: {name}")
                )
    return faults_found
