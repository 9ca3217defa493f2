"""A table of a page: the template writes its head cells and its rows, the frame the rest."""

from django import template
from django.template.base import FilterExpression, Node, NodeList, Parser, Token
from django.template.context import Context
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

register = template.Library()
LAYOUT = "frame/table.html"


class TableNode(Node):
    """A table with its name, its cells of the head and its rows."""

    child_nodelists = ("head", "rows")

    def __init__(
        self, name: FilterExpression, kind: FilterExpression | None, head: NodeList, rows: NodeList
    ) -> None:
        self.name, self.kind, self.head, self.rows = name, kind, head, rows

    @property
    def given(self) -> list[FilterExpression]:
        """What the tag itself was given."""
        return [one for one in (self.name, self.kind) if one is not None]

    def render(self, context: Context) -> SafeString:
        """The table as its layout has it."""
        given = {
            "name": self.name.resolve(context),
            "kind": self.kind.resolve(context) if self.kind else "",
            "head": self.head.render(context),
            "rows": self.rows.render(context),
        }
        return render_to_string(LAYOUT, given)


@register.tag
def table(parser: Parser, token: Token) -> TableNode:
    """Reads ``{% table NAME [CLASS] %}`` head cells ``{% rows %}`` rows ``{% endtable %}``.

    ``NAME`` is what a screen reader calls the table; wide ones are scrolled sideways.

    Raises
    ------
    TemplateSyntaxError
        If it has no name, or more than a name and a class.
    """
    _tag, *given = token.split_contents()
    if not 1 <= len(given) <= 2:  # a name, and perhaps a class
        raise template.TemplateSyntaxError(
            f"table takes its name and perhaps a class; received {len(given)} words: "
            f"write {{% table _('Layers') %}}"
        )
    name, *kind = (parser.compile_filter(one) for one in given)
    head = parser.parse(("rows",))
    parser.delete_first_token()
    rows = parser.parse(("endtable",))
    parser.delete_first_token()
    return TableNode(name, kind[0] if kind else None, head, rows)
