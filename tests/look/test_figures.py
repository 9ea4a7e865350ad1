"""2 1/4 never looks like 21/4: how a figure is set on a page."""

import re

import pytest
from django.template import Context, Template
from django.utils.html import strip_tags
from hypothesis import given
from hypothesis import strategies as st

from clubsetup.site.figures import set_figure, set_in_slot

NO_BREAK = "&nbsp;"


@pytest.mark.parametrize(
    ("text", "set_"),
    [
        ("+1 1/4", '<span class="fg">+1<i class="fr">&nbsp;1/4</i></span>'),
        ("11/16", '<span class="fg"><i class="fr">11/16</i></span>'),
        ("33 15/16", '<span class="fg">33<i class="fr">&nbsp;15/16</i></span>'),
        ("\u22121/2", '<span class="fg">\u2212<i class="fr">1/2</i></span>'),
        ("2 1/4 in", '<span class="fg">2<i class="fr">&nbsp;1/4</i></span> in'),
        (
            "target 2 1/4 ± 1/16",
            'target <span class="fg">2<i class="fr">&nbsp;1/4</i></span> '
            '± <span class="fg"><i class="fr">1/16</i></span>',
        ),
        ("56.2 %", "56.2 %"),
        ("as set 11/29/2026", "as set 11/29/2026"),
        ("/cars/2/3/", "/cars/2/3/"),
        ("<b>1/2", '&lt;b&gt;<span class="fg"><i class="fr">1/2</i></span>'),
    ],
)
def test_a_fraction_stands_clear_of_its_whole_number(text: str, set_: str) -> None:
    assert set_figure(text) == set_


@pytest.mark.parametrize(
    ("text", "set_"),
    [
        ("33 15/16", '<span class="fg">33<i class="fr">&nbsp;15/16</i></span>'),
        ("11/16", '<span class="fg"><i class="fr">11/16</i></span>'),
        ("56.2", '<span class="fg">56<i>.2</i></span>'),
        ("−3.1", '<span class="fg">−3<i>.1</i></span>'),
        ("310", '<span class="fg">310<i></i></span>'),
        ("2, 5", '<span class="fg">2<i></i></span>, 5'),
        ("about 9.7", "about 9.7"),
    ],
)
def test_in_a_column_every_figure_has_a_slot(text: str, set_: str) -> None:
    assert set_in_slot(text) == set_


@given(st.integers(0, 999), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_read_aloud_or_copied_it_is_the_figure_that_was_written(
    whole: int, over: int, under: int
) -> None:
    text = f"{whole} {over}/{under}"
    for set_ in (set_figure(text), set_in_slot(text)):
        assert strip_tags(set_).replace(NO_BREAK, " ") == text
        assert re.search(r"\d&nbsp;\d|>&nbsp;\d", set_)


def test_filters_and_marks_in_a_template() -> None:
    template = Template(
        '{{ "2 1/4"|fig }} {{ "9.5"|slot }} {% mark "tick" "on target" %} {% mark "low" %}'
        '{% chip "bad" "▼" "1/8 low" %}'
    )
    page = template.render(Context())
    assert '2<i class="fr">&nbsp;1/4</i>' in page
    assert "<i>.5</i>" in page
    assert page.count('aria-hidden="true"') == 3
    assert '<span class="visually-hidden">on target</span>' in page
    assert strip_tags(page).split()[-2:] == ["1/8", "low"]


def test_a_mark_that_is_not_there_is_said() -> None:
    with pytest.raises(KeyError, match="no mark"):
        Template('{% mark "smile" %}').render(Context())
