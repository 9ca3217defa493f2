"""Questions by their path have the words of the case, without the unit in brackets."""

import pytest

from gaiter.core.safety.carry import screen_paths
from gaiter.core.safety.questions import label_of


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("leg.findings.gangrene", "Black or dead tissue"),
        ("person.kidney_disease", "Chronic kidney disease"),
        ("person.age_years", "Age"),
        ("arms.left_mmhg", "Systolic pressure, left arm"),
        # Inside records of their own, an optional one included.
        ("leg.wound.width_cm", "Width"),
        # Without words of its own: the field's name.
        ("leg.findings.clot.state", None),
    ],
)
def test_the_words_of_a_question(path: str, words: str | None) -> None:
    found = label_of(path)
    assert found
    assert "[" not in found
    if words is not None:
        assert found == words


def test_every_question_on_the_screen_has_words() -> None:
    for path in screen_paths():
        assert label_of(path)[0].isupper() or "_" not in label_of(path)


@pytest.mark.parametrize("path", ["leg.findings.nothing_such", "person.arms", "other.age_years"])
def test_a_question_that_is_not_there_is_an_error(path: str) -> None:
    with pytest.raises(KeyError):
        label_of(path)
