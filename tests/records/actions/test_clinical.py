"""Only a prescriber or a bandager writes about a leg."""

import pytest

from gaiter.records.actions.clinical import require_clinical
from gaiter.records.ledger import Actor, NotAllowedError
from gaiter.records.models import Account, Role


@pytest.mark.parametrize("role", [Role.PRESCRIBER, Role.BANDAGER])
def test_clinical_staff_may(role) -> None:
    require_clinical(Actor(Account(role=role)))


@pytest.mark.parametrize(
    "account", [None, *(Account(role=role) for role in (Role.LEARNER, Role.MANAGER, "", "other"))],
    ids=lambda account: account.role if account else "nobody",
)  # fmt: skip
def test_nobody_else_may(account) -> None:
    with pytest.raises(NotAllowedError, match="Only clinical staff may write about a leg"):
        require_clinical(Actor(account))
