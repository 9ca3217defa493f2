"""The plan in force: from approval until it is replaced, withdrawn or voided."""

from datetime import timedelta

import pytest

from gaiter.core.errors import InputError
from gaiter.records.actions.plans import (
    approve_plan,
    record_bandaging,
    void_plan,
    withdraw_plan,
)
from gaiter.records.ledger import Actor, NotAllowedError
from gaiter.records.models import Role
from gaiter.records.read.in_force import plan_in_force, waiting_plan

WHY = "The heart team asks for less until Friday."


def test_a_proposal_never_hides_the_plan_in_force(clinic) -> None:
    plan = clinic.approved()
    proposal = clinic.proposed()
    assert plan_in_force(clinic.episode) == plan
    assert waiting_plan(clinic.episode) == proposal


def test_an_approval_replaces_the_plan_and_says_when(clinic) -> None:
    first, second = clinic.approved(), clinic.approved()
    first.refresh_from_db()
    assert plan_in_force(clinic.episode) == second
    assert (first.state, first.ended_at) == ("superseded", second.approved_at)


def test_a_proposal_is_withdrawn_by_its_author_and_by_a_prescriber(clinic) -> None:
    plan = clinic.approved()
    for role in (Role.BANDAGER, Role.PRESCRIBER):
        proposal = clinic.proposed()
        withdraw_plan(clinic.actor(role), proposal)
        proposal.refresh_from_db()
        assert (proposal.state, proposal.ended_by.role) == ("withdrawn", role)
    assert plan_in_force(clinic.episode) == plan
    assert waiting_plan(clinic.episode) is None


def test_another_bandager_withdraws_no_proposal(clinic) -> None:
    proposal = clinic.proposed()
    with pytest.raises(NotAllowedError, match="its author or a prescriber"):
        withdraw_plan(clinic.actor(Role.LEARNER), proposal)


def test_an_approved_plan_is_withdrawn_by_a_prescriber_with_words(clinic) -> None:
    plan = clinic.approved()
    with pytest.raises(NotAllowedError, match="Only a prescriber"):
        withdraw_plan(clinic.actor(), plan, WHY)
    with pytest.raises(InputError, match="10 to 2000 characters; received 0"):
        withdraw_plan(clinic.actor(Role.PRESCRIBER), plan)
    withdraw_plan(clinic.actor(Role.PRESCRIBER), plan, WHY)
    plan.refresh_from_db()
    assert (plan.state, plan.ended_why) == ("withdrawn", WHY)
    assert plan_in_force(clinic.episode) is None
    day = clinic.visit.day + timedelta(days=2)
    with pytest.raises(InputError, match="Only an approved plan"):
        record_bandaging(clinic.actor(), clinic.visit, plan, day)


def test_a_plan_that_ended_is_not_withdrawn_again(clinic) -> None:
    plan = clinic.approved()
    withdraw_plan(clinic.actor(Role.PRESCRIBER), plan, WHY)
    with pytest.raises(InputError, match="ended already"):
        withdraw_plan(clinic.actor(Role.PRESCRIBER), plan, WHY)
    with pytest.raises(InputError, match="only one that waits"):
        approve_plan(clinic.actor(Role.PRESCRIBER), plan)


def test_a_voided_plan_says_why_and_names_nobody(clinic) -> None:
    plan = void_plan(clinic.actor(), clinic.approved(), "The ankle is 6 cm smaller.")
    assert (plan.state, plan.ended_by) == ("voided", None)
    assert plan.ended_why == "The ankle is 6 cm smaller."
    assert plan_in_force(clinic.episode) is None


def test_a_proposal_of_an_earlier_visit_is_not_approved(clinic) -> None:
    from gaiter.records.actions.visits import open_visit, sign_visit

    proposal = clinic.proposed()
    sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=2))
    at = clinic.actor().now + timedelta(days=2)
    open_visit(Actor(clinic.accounts[Role.BANDAGER], "", at), clinic.episode)
    with pytest.raises(InputError, match="made at an earlier visit"):
        approve_plan(clinic.actor(Role.PRESCRIBER), proposal)
