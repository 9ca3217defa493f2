"""What the database says of itself is said once."""

import pytest
from django.db import transaction

from gaiter.records.clash import ClashError
from gaiter.records.models import Mark
from tests.records.models.rows import made

pytestmark = pytest.mark.django_db


def test_one_fact_has_one_value() -> None:
    made(Mark, name="key.ab12", value="x")
    with pytest.raises(ClashError, match="Somebody else changed this"), transaction.atomic():
        made(Mark, name="key.ab12", value="y")
    assert [mark.value for mark in Mark.objects.all()] == ["x"]


@pytest.mark.parametrize("name", ["key." + 40 * "a", "key.1~9f3c88aa"])
def test_the_longest_name_of_a_key_fits(name) -> None:
    made(Mark, name=name, value=64 * "f").full_clean()
