"""The shipped examples: invented, and planned as their description says."""

from dataclasses import dataclass
from pathlib import Path

import pytest

from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Status, plan
from gaiter.core.plan.document import Fit
from gaiter.files.case_file import read_case
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.plan_file import plan_json
from gaiter.files.policy_file import shipped_policy

EXAMPLES = Path(__file__).parents[1] / "examples"


@dataclass(frozen=True)
class Expected:
    """What a practitioner would expect of a case, in words that the plan must hold."""

    words: str
    status: Status = Status.PLANNED
    maximum_mmhg: float | None = 60
    system: str | None = None
    fits: str | None = None


EXPECTED = {
    # In trained hands four layers that reach 30 mmHg at the gaiter are too often above 60 at the
    # calf, whose inner side is rounder: they are named, and do not come first.
    "inner-ankle-ulcer": Expected("four layers heal faster", system="wool_gauze_long_stretch"),
    "mixed-disease": Expected("reduced, inelastic compression with a specialist", maximum_mmhg=40,
                              system="reduced_short_stretch"),
    "suspected-clot": Expected("A clot is suspected (score 3)", Status.STOPPED, None),
    "stiff-arteries": Expected("Measure the toe pressure", Status.NOT_YET, None),
    "thin-ankle-big-calf": Expected("joined by a straight line, a cone"),
    # Two inelastic systems are within a hair of each other here; either may come first.
    "column-leg": Expected("much swelling: inelastic"),
    # Every layer breathes. Long-stretch elastic has as many reasons for it, but is too steep for
    # these hands at the slight stretch that 20 to 30 mmHg take.
    "heavy-exudate-friable-skin": Expected(
        "zinc paste on friable skin needs sure hands",
        system="reduced_elastic",
        fits="wool_gauze_long_stretch",
    ),
    "both-legs-heart-failure": Expected("bandage one leg first", Status.STOPPED, None),
    "forefoot-amputation": Expected('"start":"instep"'),
    # As many reasons speak for either; light support at its largest stretch reaches 11 of 10 to
    # 20 mmHg at the gaiter, reduced elastic 14, so it is likelier in its range.
    "ankle-sprain": Expected("light support, free at the toes", maximum_mmhg=30,
                             system="reduced_elastic", fits="light_support"),
    "eczema": Expected("zinc paste treats the eczema", system="zinc_paste_covered"),
    "latex-allergy-own-stock": Expected("allergy to latex", system="wool_gauze_long_stretch"),
    # A wider bandage up the leg was tried too: the usual one is as likely in range.
    "large-calf": Expected('"leg_width_cm":null', system="wool_gauze_long_stretch"),
    "bulky-dressing-over-bone": Expected("A dressing 9 mm thick at the inner ankle adds"),
    "chairbound-palliative": Expected("the carer can put it on again", maximum_mmhg=30,
                                     system="reduced_elastic"),
    "overdue-test-stable": Expected("40 mmHg that were applied and tolerated may go on",
                                    maximum_mmhg=40),
}  # fmt: skip
CASES = sorted([*EXAMPLES.glob("*.toml"), *EXAMPLES.glob("anthropometry/*.toml")])


def test_every_case_has_an_expectation() -> None:
    assert {path.stem for path in EXAMPLES.glob("*.toml")} == set(EXPECTED)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_examples_are_invented_and_planned_as_expected(path: Path) -> None:
    case = read_case(path)
    assert case.invented
    made = plan(case, shipped_policy(), shipped_catalogue())
    expected = EXPECTED.get(path.stem, Expected("heal"))
    leg = made.legs[Side.RIGHT]
    assert leg.status is expected.status
    assert leg.decision.maximum_mmhg == expected.maximum_mmhg
    assert expected.words in plan_json(made).replace('": ', '":')
    if expected.system:
        assert leg.systems[0].name == expected.system
    if expected.fits:
        assert expected.fits in {one.name for one in leg.systems if one.outcome is Fit.FITS}
    for system in leg.systems:
        assert not [gap for gap in system.gaps if gap.fault]
    if leg.surface and path.stem == "forefoot-amputation":
        assert leg.surface.start is Landmark.INSTEP
