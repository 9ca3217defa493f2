"""Teams: a name once, an account and a person once in each, and all of it kept."""

import pytest

from gaiter.records.clash import ClashError
from gaiter.records.models import Account, Person, Team, TeamMember, TeamPerson
from tests.records.models.rows import AT, changed, made

pytestmark = pytest.mark.django_db


def test_a_name_is_given_once() -> None:
    made(Team, name="Heron")
    with pytest.raises(ClashError, match="choose another name"):
        made(Team, name="Heron")
    assert str(made(Team, name="Ford")) == "Ford"


@pytest.mark.parametrize(
    ("model", "what", "other"), [(TeamMember, "account", Account), (TeamPerson, "person", Person)]
)
def test_one_is_in_a_team_once_at_a_time(model, what, other) -> None:
    one = made(model, ended_at=None)
    same = {"team": one.team, what: getattr(one, what)}
    with pytest.raises(ClashError, match="is in the team already"):
        made(model, **same, ended_at=None)
    made(model, team=one.team, **{what: made(other)}, ended_at=None)
    changed(one, ended_at=AT)
    made(model, **same, ended_at=None)
    assert model.objects.filter(**same).count() == 2
