"""Pages as a test reads them: how a template is laid out does not matter."""

import re
from dataclasses import dataclass
from html import unescape

from clubsetup.plots.marks import PATHS
from clubsetup.site.marks import OF_SIGN

_SIGNS = {PATHS[name]: sign for sign, name in reversed(OF_SIGN.items())}
_FIGURE = re.compile(r'<span class="fg">(.*?)</span>')
_MARK = re.compile(r'<svg class="mk"[^>]*><path[^>]* d="([^"]*)"/></svg>')
_SAID = re.compile(r"(aria-hidden=\"true\">[^<]</span>) <span>(.*?)</span>", re.DOTALL)


def plain(html: str) -> str:
    """Figures and marks as a presenter writes them: '2 1/4', and '\u2713' hidden from a reader."""
    written = _FIGURE.sub(_figure, html)
    signs = _MARK.sub(
        lambda mark: f'<span aria-hidden="true">{_SIGNS.get(mark[1], "")}</span>', written
    )
    return _SAID.sub(r"\1 \2", signs)


def _figure(found: re.Match[str]) -> str:
    return re.sub(r"<[^>]*>", "", found[1]).replace("&nbsp;", " ")


def _sign(mark: re.Match[str]) -> str:
    return f'<span aria-hidden="true">{_SIGNS.get(mark[1], "")}</span>'


def one_line(html: str) -> str:
    """All white space as one space, figures and marks as they were written."""
    return " ".join(plain(html).split())


def tight(html: str) -> str:
    """The same without any beside a tag."""
    return re.sub(r" ?(<[^>]*>) ?", r"\1", one_line(html))


_CELL = re.compile(
    r'<(td|span)(?=[^>]* data-box="([^"]+)")[^>]*>(.*?)(?=</td>|<span[^>]* data-box=)', re.DOTALL
)


def table_of(html: str) -> dict[str, str]:
    """What stands in each cell of a sheet's table, by its box: '\u25b2 2 1/2 target 2 1/4'."""
    found = _CELL.findall(plain(html))
    return {box: " ".join(re.sub(r"<[^>]*>", " ", inside).split()) for _, box, inside in found}


_SET = re.compile(
    r'class="set(?: words)?">(?:<span aria-hidden="true">(.)</span>)?'
    r'(.*?)(?:<span class="visually-hidden|</span>)',
    re.DOTALL,
)


def set_of(html: str) -> dict[str, tuple[str, str]]:
    """Of each figure of a sheet's table its mark, empty where it is no exception, and itself."""
    said = {box: _SET.search(inside) for _, box, inside in _CELL.findall(plain(html))}
    return {
        box: (found[1] or "", re.sub(r"<[^>]*>", "", found[2]))
        for box, found in said.items()
        if found and found[2]
    }


_ON_PAPER = re.compile(
    r'(?:<td class="found[^>]*>(?P<found>[^\n]*?)</td>)?'
    r'<td class="set[^>]* data-box="(?P<box>[^"]+)">(?P<set>.*?)</td>'
    r'(?:<td class="target[^>]*>(?P<target>.*?)</td>)?',
    re.DOTALL,
)
_HIDDEN = re.compile(r'<span aria-hidden="true">(.)</span>')


@dataclass(frozen=True)
class OnPaper:
    """What stands of one box on a printed sheet; `mark` only of an exception."""

    mark: str
    set: str
    found: str = ""
    target: str = ""


def paper_of(html: str) -> dict[str, OnPaper]:
    """The figures of a printed setup sheet, by box."""
    return {
        one["box"]: OnPaper(*_marked(one["set"]), _text(one["found"]), _text(one["target"]))
        for one in _ON_PAPER.finditer(plain(html))
    }


def checks_on_paper(html: str) -> dict[str, OnPaper]:
    """What was to be checked on a printed setup sheet, by box."""
    found = re.findall(r'<span class="\w+" data-box="([^"]+)">(.*?)</span> ', plain(html))
    return {box: OnPaper(*_marked(inside)) for box, inside in found}


def _marked(inside: str) -> tuple[str, str]:
    sign = _HIDDEN.search(inside)
    return (sign[1] if sign else "", _text(_HIDDEN.sub("", inside)))


def _text(html: str | None) -> str:
    return " ".join(unescape(re.sub(r"<[^>]*>", "", html or "")).split())
