import pytest
from gaiter.core.safety.clot import clot_likely, clot_score

from gaiter.core.case import ClotSigns
from tests.conftest import reference

WELLS = reference("wells2003")


@pytest.mark.parametrize(("ticked", "score", "likely"), WELLS["vectors"])
def test_published_vectors(ticked: list[int], score: int, likely: bool) -> None:
    signs = ClotSigns(**{WELLS["items"][number - 1]: True for number in ticked})
    assert clot_score(signs) == score
    assert clot_likely(signs) is likely


@pytest.mark.parametrize(
    ("item", "points"), list(zip(WELLS["items"], WELLS["points"], strict=True))
)
def test_points_of_every_item(item: str, points: int) -> None:
    assert clot_score(ClotSigns(**{item: True})) == points


def test_range() -> None:
    everything = ClotSigns(**dict.fromkeys(WELLS["items"], True))
    assert clot_score(everything) == 7
    assert clot_score(ClotSigns(other_diagnosis_as_likely=True)) == -2
