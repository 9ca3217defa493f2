"""The document of what was applied."""

from gaiter.core.applied.document import AppliedSite


def test_a_site_is_off_by_what_it_has_over_its_plan() -> None:
    """36 mmHg where 40 were planned are 4 too few."""
    assert AppliedSite.model_construct(median_mmhg=36.0, planned_mmhg=40.0).off_mmhg == -4
