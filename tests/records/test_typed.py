"""What counts as a number, and what text is not kept."""

import pytest

from gaiter.core.errors import InputError
from gaiter.records.typed import key_in, number_in, require_writable, whole_in


@pytest.mark.parametrize(
    ("text", "value"),
    [("26", 26), ("26.5", 26.5), ("26,5", 26.5), (" -3 ", -3), ("+4", 4), (".5", 0.5), ("7.", 7)],
)
def test_a_number_has_a_point_or_a_comma(text, value) -> None:
    assert number_in(text) == value


@pytest.mark.parametrize(
    "text",
    ["", "nan", "inf", "1e3", "2_3", "0x1F", "½", "２３", "٣", "1,2,3", "--1", "1 2", "9" * 16,
     "1." + "1" * 16, "16 kPa", "."],
)  # fmt: skip
def test_nothing_else_is_one(text) -> None:
    with pytest.raises(ValueError, match="^"):
        number_in(text)
    with pytest.raises(ValueError, match="^"):
        whole_in(text)
    assert key_in(text) == 0


def test_a_key_is_whole() -> None:
    assert (whole_in("-2"), key_in("12"), key_in("12.0")) == (-2, 12, 0)


@pytest.mark.parametrize("text", ["a\x00b", "\ud800", "x\udfff"])
def test_what_no_database_holds_is_refused(text) -> None:
    with pytest.raises(InputError, match="cannot be kept"):
        require_writable(text)
    require_writable("å, ẞ, 漢, \n and 🦵")
