"""A list of the pages, followed to its end as somebody does who presses what stands below it."""

import re
from html import unescape

from django.test import Client


def all_pages(client: Client, path: str, row: str, asks: str = "before") -> list[list[str]]:
    """What `row` finds on each page, each once, from the first page on."""
    found, there = [], path
    while there:
        answer = client.get(there)
        assert answer.status_code == 200
        page = unescape(answer.content.decode()).partition("<main")[2]
        found.append(list(dict.fromkeys(re.findall(row, page))))
        next_page = re.search(rf'href="(\?{asks}=[^"]+)"', page)
        there = path + next_page.group(1) if next_page else ""
    return found
