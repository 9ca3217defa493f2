"""What a plan describes, laid again from the plan alone, is what was planned."""

from functools import cache

import numpy as np
import pytest

from gaiter.core.draw.surface_drawing import surface_map
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.completion import complete_measurements
from gaiter.core.plan import LegPlan, Plan, plan
from gaiter.core.plan.document import SurfaceSummary
from gaiter.core.plan.padded_leg import BandagedLeg
from gaiter.core.plan.rebuilt import bandaged_leg_of, laid_layers, padded_leg_of, surface_of
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.core.draw.drawn import SVG, parsed
from tests.strategies import case


@cache
def leg() -> LegPlan:
    only = frozenset({"wool_gauze_long_stretch"})
    made = plan(case(), shipped_policy(), shipped_catalogue(), samples=64, systems=only)
    return made.legs[Side.RIGHT]


def test_the_leg_has_its_measurements_again() -> None:
    measured = bandaged_leg_of(leg()).measured
    given = case().legs[Side.RIGHT]
    assert measured.foot_length_cm == given.foot_length_cm
    for landmark, girth in measured.girth_cm.items():
        assert girth == given.girth_cm.at(landmark)


def test_a_plan_of_before_a_landmark_was_known_is_drawn_all_the_same() -> None:
    """The rest of the leg stays what the tape read; the new place lies between its neighbours."""
    whole = leg()
    known = {
        table: {site: cm for site, cm in getattr(whole.surface, table).items() if site != "gaiter"}
        for table in ("girth_cm", "position_cm")
    }
    older = whole.model_copy(update={"surface": whole.surface.model_copy(update=known)})
    built = bandaged_leg_of(older)
    assert {"girth_cm.gaiter", "position_cm.gaiter"} <= set(built.measured.estimated)
    ankle, gaiter, calf = (
        built.bare.girth_at_cm(site) for site in (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF)
    )
    assert ankle < gaiter < calf
    # Half a millimetre on the tape: what the surface itself promises of a measured girth.
    assert calf == pytest.approx(whole.surface.girth_cm[Landmark.CALF], abs=0.05)
    drawn = parsed(surface_map(older, older.systems[0], built, 0.93))
    assert "gaiter" in {one.text for one in drawn.iter(f"{SVG}text")}


@cache
def caliper_leg() -> LegPlan:
    """A flat ankle and a deep calf: 5.6 by 8.5 and 11 by 12.4 cm."""
    only = frozenset({"wool_gauze_long_stretch"})
    taken = {
        "legs.right.width_cm": {"ankle": 5.6, "calf": 11.0},
        "legs.right.depth_cm": {"ankle": 8.5, "calf": 12.4},
    }
    made = plan(case(**taken), shipped_policy(), shipped_catalogue(), samples=64, systems=only)
    kept = Plan.model_validate_json(made.model_dump_json(by_alias=True))
    return kept.legs[Side.RIGHT]


def test_a_leg_with_a_caliper_is_drawn_the_same_again() -> None:
    """The planned surface is that of the case; the one of the tape alone is another."""
    kept = caliper_leg()
    assert kept.surface.depth_over_width == {
        Landmark.ANKLE: pytest.approx(8.5 / 5.6), Landmark.CALF: pytest.approx(12.4 / 11.0),
    }  # fmt: skip
    taken = case(
        **{
            "legs.right.width_cm": {"ankle": 5.6, "calf": 11.0},
            "legs.right.depth_cm": {"ankle": 8.5, "calf": 12.4},
        }
    ).legs[Side.RIGHT]
    planned = BandagedLeg(complete_measurements(taken).measurements).bare
    again = bandaged_leg_of(kept).bare
    assert np.array_equal(again.points_cm, planned.points_cm)
    by_tape = bandaged_leg_of(leg()).bare
    assert np.abs(again.points_cm - by_tape.points_cm).max() > 0.1
    # What hangs on the surface is the plan's own again: where the marks stand, how long the roll.
    (system,) = kept.systems
    pressing = [layer for layer in system.layers if layer.presses]
    laid = laid_layers(bandaged_leg_of(kept), system)
    assert [one.strips.path.length_cm for one in laid] == pytest.approx(
        [layer.length_cm for layer in pressing]
    )


def test_a_plan_of_before_calipers_reads_and_is_written_as_it_was() -> None:
    without = leg().surface
    written = without.model_dump(mode="json")
    assert "depth_over_width" not in written
    assert SurfaceSummary.model_validate(written) == without
    assert "depth_over_width" in caliper_leg().surface.model_dump(mode="json")


def test_layers_have_their_turns_length_and_place_again() -> None:
    (system,) = leg().systems
    pressing = [layer for layer in system.layers if layer.presses]
    laid = laid_layers(bandaged_leg_of(leg()), system)
    assert [one.strips.turns for one in laid] == [layer.turns for layer in pressing]
    lengths = [one.strips.path.length_cm for one in laid]
    assert lengths == pytest.approx([layer.length_cm for layer in pressing])


def test_girths_over_wool_and_pads_are_those_of_the_plan() -> None:
    (system,) = leg().systems
    assert system.pads_mm
    padded_leg = padded_leg_of(bandaged_leg_of(leg()), system)
    for site in system.sites:
        assert padded_leg.girth_cm(site.landmark) == pytest.approx(site.girth_cm)
    # A pad of 6 mm in the document is one of 0.6 cm on the leg.
    thickest = max(system.pads_mm.values()) / 10
    assert padded_leg.pads_on_cells_cm.max() == pytest.approx(thickest)
    assert np.isfinite(padded_leg.arrives).all()


def test_a_leg_without_a_surface_cannot_be_laid_again() -> None:
    stopped = leg().model_copy(update={"surface": None})
    with pytest.raises(InputError, match="the plan of the right leg holds no surface, because it"):
        surface_of(stopped)
