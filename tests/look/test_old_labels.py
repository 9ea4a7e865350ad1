"""Labels that were replaced are seen nowhere: on no page or print, in no word of the API.

"left" is a side only, and one thing has one name. What is found is text that people read: that of
templates, and sentences in Python and scripts.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from drf_spectacular.generators import SchemaGenerator

HOUSE = Path(__file__).resolve().parent.parent.parent
APPS = ("clubsetup", "teams", "cars", "events")

# What it was called, as it would be seen; what it is called now.
OLD = {
    r"\bas left\b": "as set",
    r"\bfound and left\b": "last time: found, set",
    r"\bsheet left\b|\bsince it was left\b|\bleft sheet\b": "since it was set",
    r"\bleft \(share\)|\bleft share\b": "Left side %",
    r"\bworst left\b": "Furthest off after it",
    r"\bgo on with the sheet\b": "Set the car",
    r"\bhello\b": "the event, or the next thing",
    r"\bstart a bench\b|\bstep by step, at the bench\b": "Measure as found",
    r"\bgo on at the bench\b": "the step by its name",
    r"\bfinish the bench\b": "Finish this sheet",
    r"\bsomething was turned, moved\b|\bnote a change\b": "Note something you turned or swapped",
    r"\bwhat to add\b": "Ballast to add",
    r"(?-i:^What if$)": "Try it on paper",
    r"(?-i:^Rods$)": "Rod turns",
    r"(?-i:^Plans$)": "Ways to do it",
    r"\bI have turned this\b": "I turned these",
    r"\bnot all reached\b": "misses RF height by 1/16",
    r"\btowards \(|\baim at\b|\baimed at\b": "Targets:",
    r"\btaught\b": "What one turn does",
    r"\blearn it anew\b": "Forget it and start again",
    r"\bnothing learned yet\b": "Worked out from the chassis, not yet from this car",
    r"\bmoved by itself\b": "Drift",
    r"\bwhat we prefer\b|\bpreferences\b": "Our own targets",
    r"\bwhat was done\b|\baudit (log|row)\b": "Trail: who did what",
    r"\bchange the head\b": "Date, driver, fuel",
    r"\bnew sheet after this\b": "New from this",
    r"(?-i:\bRead twice\b)": "Read it again",
    r"(?-i:\bRead again: )": "Same again",
    r"(?-i:\bChecked again\b)": "Still so",
    r"^\W*to read again\b|\d+ to read again\b": "to retake",
    r"\bjudged are off\b": "4 of 59 off, 2 too close to tell",
    r"\bcircumference\b|\brolled-out\b": "Roll-out",
    r"(?-i:^Round$)": "Roll-out",
    r"\bthread above the seat\b": "Seat thread",
    r"\btravel used\b": "Bump ring travel",
    r"\blateral place\b": "Side to side",
    r"\bbearing carrier rotation\b": "Carrier rotation",
    r"(?-i:^Cold$)": "cold psi",
    r"\ball back to nothing\b": "Clear",
    r"(?-i:^Look at it$|^Look again$)": "fixed, marked",
    r"\benter a car by hand\b": "Add a car that is not entered",
    r"\bhow heavy the steering\b": "steering: light, good, heavy",
    r"\brose hot\b": "pressure gain",
    r"(?-i:^Draws$)": "Cars drawn for a check",
    r"(?-i:^Records$)": "Official record",
    r"\bsee it on the bench\b": "Fit it",
    r"\byes, lay it down\b|\byes, leave\b": "Give up the role",
    r"\bour fault\b": "Something broke here; what you typed is kept",
}
# (end of the file's path, the text): why the word is right there.
RIGHT = {
    ("record_book.html", "Records"): "the number of the record's lines, in the book of the record",
}

TAG = re.compile(
    r"{#.*?#}|{% comment %}.*?{% endcomment %}|{%.*?%}|<(script|style|svg)\b.*?</\1>", re.S
)
TOLD = re.compile(r"{% *(?:chip|mark|fold|include) [^%]*%}")
ATTRIBUTE = re.compile(r'\b(?:aria-label|alt|title|placeholder)="([^"]*)"')
SENTENCE = re.compile(r"^[A-Z]|\s")
IN_SCRIPT = re.compile(r'"([^"\n]*)"|`([^`]*)`')


def shown_by(template: str) -> Iterator[str]:
    """Texts between tags, and those that are heard."""
    for tag in TOLD.findall(template):
        yield from (text for text in re.findall(r'"([^"]*)"', tag) if SENTENCE.search(text))
    source = TAG.sub("\n", template)
    yield from ATTRIBUTE.findall(source)
    for text in re.sub(r"<[^>]*>", "\0", source).split("\0"):
        yield from (line for line in (" ".join(text.split()),) if line)


def said_by(module: str) -> Iterator[str]:
    """Sentences of a module: texts that are no names, without what explains the code."""
    tree = ast.parse(module)
    explains = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Constant) and isinstance(node.value, str)):
            continue
        if id(node) not in explains and SENTENCE.search(node.value):
            yield node.value


def said_by_script(script: str) -> Iterator[str]:
    """Texts of a script that are no names."""
    without = re.sub(r"/\*.*?\*/|//[^\n]*", "", script, flags=re.S)
    for quoted, composed in IN_SCRIPT.findall(without):
        if SENTENCE.search(quoted or composed):
            yield quoted or composed


READERS = {".html": shown_by, ".jinja": shown_by, ".py": said_by, ".js": said_by_script}


def files() -> list[Path]:
    """All that is shown; migrations say what was."""
    return [
        file
        for app in APPS
        for file in sorted((HOUSE / app).rglob("*"))
        if file.suffix in READERS and "migrations" not in file.parts
    ]


def old_in(text: str) -> list[str]:
    """Which old labels the text has."""
    return [old for old in OLD if re.search(old, text, re.IGNORECASE)]


def found_in_files() -> list[tuple[str, str, str]]:
    """(file, text, what it is called now)."""
    return [
        (str(file.relative_to(HOUSE)), text, OLD[old])
        for file in files()
        for text in READERS[file.suffix](file.read_text())
        for old in old_in(text)
    ]


def is_right(file: str, text: str) -> bool:
    """Whether it is one of the exceptions."""
    return any(file.endswith(end) and text == of for end, of in RIGHT)


def test_no_page_print_or_message_has_an_old_label() -> None:
    assert [found for found in found_in_files() if not is_right(*found[:2])] == []


def test_no_exception_stands_for_nothing() -> None:
    found = found_in_files()
    assert [
        (end, of)
        for end, of in RIGHT
        if not any(file.endswith(end) and text == of for file, text, _ in found)
    ] == []


def test_the_catalogue_has_none() -> None:
    catalogue = (HOUSE / "fixtures" / "catalogue.json").read_text()
    texts = re.findall(r'"(?:name|where|why|caution)": "([^"]*)"', catalogue)
    assert len(texts) > 100
    assert [(text, old_in(text)) for text in texts if old_in(text)] == []


def test_the_words_of_the_api_have_none() -> None:
    schema = SchemaGenerator().get_schema(request=None, public=True)
    texts = list(words_of(schema))
    assert len(texts) > 500
    assert [(text, old_in(text)) for text in texts if old_in(text)] == []


def words_of(part: object) -> Iterator[str]:
    """What the schema says in words: summaries, descriptions and titles; a value in backticks is
    no label."""
    if isinstance(part, dict):
        for key, value in part.items():
            if key in ("description", "summary", "title") and isinstance(value, str):
                yield re.sub("`[^`]*`", "", value)
            else:
                yield from words_of(value)
    elif isinstance(part, list):
        for each in part:
            yield from words_of(each)


@pytest.mark.parametrize(
    ("text", "is_old"),
    [
        ("As left 18 Nov", True),
        ("Left side %", False),
        ("Left of the middle", False),
        ("Look at it", True),
        ("A reading has changed. Look at it again.", False),
        ("read it again", False),
        ("3 to read again", True),
    ],
)
def test_it_tells_an_old_label_from_the_words_in_it(text: str, is_old: bool) -> None:
    assert bool(old_in(text)) is is_old


def test_it_reads_what_is_shown_and_nothing_else() -> None:
    template = '<p class="x">As {# as left #}<b aria-label="heard">set</b></p>{% if left %}'
    assert [*shown_by(template)] == ["heard", "As", "set"]
    assert [*shown_by('{% chip "bad" "low" n "as left" %}')] == ["as left"]
    assert [*said_by('"""Taught."""\nA = "left"\nB = "To say"\n')] == ["To say"]
    assert [*said_by_script('// "As left"\nsay("Saved here"); key("left")')] == ["Saved here"]
