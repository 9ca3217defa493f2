"""What every command shares: exit codes, JSON, one standard input."""

from pathlib import Path

import pytest

from gaiter.cli.output import decided, gravest, require_one_standard_input
from gaiter.core.errors import InputError
from gaiter.core.safety import Outcome


def test_the_gravest_code_is_that_of_which_least_is_known() -> None:
    assert gravest([0, 4, 3, 2, 1]) == 1
    assert gravest([4, 3, 2]) == 2
    assert gravest([0, 4, 3]) == 3
    assert gravest([0, 4]) == 4
    assert gravest([]) == 0


@pytest.mark.parametrize(
    ("outcomes", "code"),
    [
        ([], 0),
        ([Outcome.FULL, Outcome.REDUCED], 0),
        ([Outcome.FULL, Outcome.NOT_YET], 4),
        ([Outcome.NOT_YET, Outcome.STOP], 3),
    ],
)
def test_the_worst_decision_is_the_exit_code(outcomes: list[Outcome], code: int) -> None:
    assert decided(outcomes) == code


def test_what_is_piped_in_is_read_once() -> None:
    require_one_standard_input([Path("-"), Path("case.toml"), None])
    with pytest.raises(InputError, match=r"- \(standard input\) is given twice"):
        require_one_standard_input([Path("-"), Path("-")])
