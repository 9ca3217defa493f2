"""Every safety rule, one file a subject."""

from collections.abc import Mapping

from gaiter.core.safety.rule import Rule
from gaiter.core.safety.rules import (
    arteries,
    clot,
    heart,
    infection,
    local,
    measuring,
    nerves,
    person,
    red_flags,
    skin,
    toes,
    unasked,
    vessels,
)

_BY_SUBJECT = (
    *red_flags.RULES,
    *toes.RULES,
    *clot.RULES,
    *infection.RULES,
    *heart.RULES,
    *person.RULES,
    *vessels.RULES,
    *arteries.RULES,
    *measuring.RULES,
    *nerves.RULES,
    *skin.RULES,
    *local.RULES,
)

RULES: Mapping[str, Rule] = {
    rule.code: rule for rule in (*_BY_SUBJECT, *unasked.rules_for(_BY_SUBJECT))
}
"""By code, in the order in which a person is asked."""
