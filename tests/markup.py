"""Pages as a test reads them: how a template is laid out does not matter."""

import re


def one_line(html: str) -> str:
    """All white space as one space."""
    return " ".join(html.split())


def tight(html: str) -> str:
    """The same without any beside a tag."""
    return re.sub(r" ?(<[^>]*>) ?", r"\1", one_line(html))
