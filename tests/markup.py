"""Pages as a test reads them: how a template is laid out does not matter."""

import re


def one_line(html: str) -> str:
    """All white space as one space, and figures as they were written."""
    return " ".join(plain_figures(html).split())


def tight(html: str) -> str:
    """The same without any beside a tag."""
    return re.sub(r" ?(<[^>]*>) ?", r"\1", one_line(html))


def plain_figures(html: str) -> str:
    """Figures as they were written, without what sets their fractions smaller."""
    return re.sub(
        r'<span class="fg">(.*?)</span>',
        lambda figure: re.sub(r"<[^>]*>", "", figure[1]).replace("&nbsp;", " "),
        html,
    )
