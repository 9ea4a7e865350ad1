"""The line at the top of every page: mark, where one is, menu."""

import re

from django.template import Context, Template


def top_line(content: str, title: str = "Ride heights · car 31") -> str:
    page = Template(
        "{% body_first as body %}" + content + "{% endbody_first %}"
        "{% where_you_are title %}|{{ body }}"
    )
    return page.render(Context({"title": title}))


def test_breadcrumbs_go_up_to_the_line_and_end_where_one_is() -> None:
    links = '<a href="/c">31 Biscuit</a> <a href="/s">as found</a>'
    page = top_line("{% crumbs %}" + links + "{% endcrumbs %}<p>x</p>")
    line, body = page.split("|")
    assert re.findall(r"<li.*?</li>", line) == [
        '<li><a href="/c">31 Biscuit</a></li>',
        '<li><a href="/s">as found</a></li>',
        '<li aria-current="page"><span>Ride heights</span></li>',
    ]
    assert body == "<p>x</p>"


def test_a_page_says_its_own_last_crumb() -> None:
    line = top_line('{% crumbs %}<a href="/c">31</a> {{ title }}{% endcrumbs %}', "<29>")
    assert '<li aria-current="page"><span>&lt;29&gt;</span></li>' in line


def test_without_crumbs_the_line_has_the_page_s_title() -> None:
    assert top_line("<p>x</p>", "Prints").startswith(
        '<nav class="crumbs" aria-label="Where you are"><ol><li aria-current="page">'
        "<span>Prints</span></li></ol></nav>"
    )


def test_the_last_link_is_not_said_twice() -> None:
    line = top_line('{% crumbs %}<a href="/c">Cars</a>{% endcrumbs %}', "Cars")
    assert line.count("Cars") == 1
