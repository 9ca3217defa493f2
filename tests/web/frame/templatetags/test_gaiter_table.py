"""A table as templates write it: its name, its head, its rows, and nothing of them lost."""

import re

import pytest
from django.template import TemplateSyntaxError, engines


def drawn(text: str, **given: object) -> str:
    """The page of a template, its spaces closed up."""
    page = engines["django"].from_string(text).render(given)
    return re.sub(r">\s+", ">", re.sub(r"\s+<", "<", page)).strip()


def test_head_and_rows_stand_in_a_table_that_has_a_name_and_scrolls() -> None:
    page = drawn(
        "{% table called %}<th>{{ first }}</th>{% rows %}"
        "{% for one in lines %}<tr><td>{{ one }}</td></tr>{% endfor %}{% endtable %}",
        called="Layers & pads",
        first="<Place>",
        lines=["ankle", "a < b"],
    )
    assert page == (
        '<div class="scroll" tabindex="0" role="region" aria-label="Layers &amp; pads"><table>'
        "<thead><tr><th>&lt;Place&gt;</th></tr></thead>"
        "<tbody><tr><td>ankle</td></tr><tr><td>a &lt; b</td></tr></tbody></table></div>"
    )


def test_a_table_may_have_a_class_and_no_head() -> None:
    page = drawn('{% table "Girths" "pressures" %}{% rows %}<tr></tr>{% endtable %}')
    assert '<table class="pressures"><tbody><tr></tr></tbody></table>' in page


def test_a_table_knows_what_stands_round_it() -> None:
    text = (
        '{% for n in "ab" %}{% table n %}{% rows %}{{ forloop.counter }}{% endtable %}{% endfor %}'
    )
    assert re.findall(r'label="(.)"|<tbody>(\d)', drawn(text)) == [
        ("a", ""), ("", "1"), ("b", ""), ("", "2"),
    ]  # fmt: skip


@pytest.mark.parametrize("given", ["", '"Layers" "wide" "more"'])
def test_a_table_without_a_name_or_with_too_much_is_refused(given: str) -> None:
    with pytest.raises(TemplateSyntaxError, match="takes its name and perhaps a class; received"):
        drawn(f"{{% table {given} %}}{{% rows %}}{{% endtable %}}")
