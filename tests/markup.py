"""Pages as a test reads them: how a template is laid out does not matter."""

import re

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
