"""A practice bandage hangs on whoever learns and on no patient."""

import pytest

from gaiter.records.models import Account, Attempt
from tests.records.models.rows import made


@pytest.mark.parametrize(
    ("task", "title"), [("ordinary-leg", "Ordinary leg"), ("thin-ankle-leg", "Thin ankle leg")]
)
def test_a_task_is_named_as_people_say_it(task, title) -> None:
    assert Attempt(task=task).title == title


@pytest.mark.django_db
def test_an_attempt_is_found_from_its_learner() -> None:
    attempt = made(Attempt)
    assert list(attempt.by.attempts.all()) == [attempt]


def test_an_attempt_hangs_on_no_patient() -> None:
    related = {f.related_model for f in Attempt._meta.concrete_fields if f.is_relation}
    assert related == {Account}
