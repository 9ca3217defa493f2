"""What is refused is said in words, for any language and by path."""

from gaiter.core.errors import FieldError, InputError
from gaiter.core.words import Said


def test_a_refusal_keeps_its_template_and_values() -> None:
    error = InputError(Said("must be at most {most:g} cm", {"most": 60}))
    assert str(error) == "must be at most 60 cm"
    assert error.said.template == "must be at most {most:g} cm"
    assert InputError("plain words").said.text == "plain words"


def test_a_value_of_a_record_is_named_by_its_path() -> None:
    error = FieldError("girth_cm.ankle", "is required: measure it", missing=True)
    assert str(error) == "girth_cm.ankle is required: measure it"
    assert (error.path, error.words.text, error.missing) == (
        "girth_cm.ankle", "is required: measure it", True,
    )  # fmt: skip
    assert FieldError("a", "b").missing is False
