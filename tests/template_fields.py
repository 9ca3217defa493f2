"""Fields that a template of the clinic asks for and that are not there, kept while tests run.

The framework shows nothing for a misspelt field, and takes it as false where it is a condition; an
error raised there is swallowed by the condition. So each is written down here, and the test that
opened the page fails for it.
"""

import threading
from collections.abc import Mapping

from django.template import engines
from django.template.base import FilterExpression, Variable, VariableDoesNotExist
from django.template.context import BaseContext
from django.utils.datastructures import MultiValueDict

ASKED_IN_VAIN: list[str] = []
# What was typed into a form that was refused, by box: nothing the first time.
_TYPED = "typed"
_NOW = threading.local()


def watch() -> None:
    """Writes down, from now on, what templates ask in vain; once for a run of the tests."""
    look_up, resolve = Variable._resolve_lookup, FilterExpression.resolve

    def looked_up(variable: Variable, context: BaseContext) -> object:
        try:
            return look_up(variable, context)
        except VariableDoesNotExist as missing:
            field, owner = missing.params
            in_condition = not getattr(_NOW, "shown", True)
            typed = isinstance(owner, Mapping | MultiValueDict) and _TYPED in variable.lookups
            may_be_absent = typed or (in_condition and _may_lack(owner))
            if _is_ours(context) and not may_be_absent:
                ASKED_IN_VAIN.append(f"{variable.var}: {type(owner).__name__} has no {field}")
            raise

    def resolved(expression: FilterExpression, context: BaseContext, ignore_failures=False):
        before, _NOW.shown = getattr(_NOW, "shown", True), not ignore_failures
        try:
            return resolve(expression, context, ignore_failures)
        finally:
            _NOW.shown = before

    Variable._resolve_lookup, FilterExpression.resolve = looked_up, resolved


def _is_ours(context: BaseContext) -> bool:
    # The framework's own widgets ask for attributes that they may lack.
    template = getattr(context, "template", None)
    return template is not None and template.engine is engines["django"].engine


def _may_lack(owner: object) -> bool:
    """Whether a condition may ask it for what is not there.

    An entry of a mapping, a part of what is not known, and a name that some who include a piece
    give (which names a page gives is proved in ``tests/web/test_templates.py``).
    """
    return owner is None or isinstance(owner, Mapping | MultiValueDict | BaseContext)
