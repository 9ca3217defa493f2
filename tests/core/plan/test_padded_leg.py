"""A leg under its padding, mostly a tube of radius 4 cm, whose pads and girths have closed forms.

Girths, wool and pads on a person's leg, with what is laid on them: ``test_laying.py``.
"""

from dataclasses import replace

import numpy as np
import pytest

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.bandage.wool import Build, WoolBuild
from gaiter.core.landmark import Landmark
from gaiter.core.leg.tube import round_limb
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.padded_leg import BandagedLeg, PaddedLeg, Padding, Sampling
from gaiter.core.spread.draws import Hands, SpreadInputs
from tests.core.plan.hand_made import bandaged_leg

SPIRAL = Geometry(Pattern.SPIRAL, 0.5, 10.0)
INPUTS = SpreadInputs((Hands(0.1, 0.1),), 0.9, 0.35)


def tube(*estimated: str, **pads_cm: float) -> PaddedLeg:
    """A tube of radius 4 cm: curvature 1/4, girth 8 pi."""
    limb = round_limb(4)
    return PaddedLeg(limb, WoolBuild(Build.EVEN, 0 * limb.s_cm, "", 0, 0.0), estimated, pads_cm)


def test_without_a_word_nothing_lies_under_the_bandage() -> None:
    plain = Padding()
    assert (plain.even_cm, plain.layer_cm, plain.build) == (0.0, 0.0, Build.EVEN)
    assert (plain.end, plain.start, plain.pads_cm) == (Landmark.BELOW_KNEE, None, ())
    assert bandaged_leg().under(plain).girth_cm(Landmark.CALF) == pytest.approx(
        bandaged_leg().bare.girth_at_cm(Landmark.CALF)
    )


def test_judged_sites_come_first_then_bony_places_then_the_inner_side_of_the_ankle() -> None:
    leg = tube()
    assert len(leg.names) == len(leg.discs) == len(leg.sites) + len(leg.bony) + 1
    assert leg.names[: len(leg.sites)] == [site.label for site in leg.sites]
    assert [where.name for where in leg.bony] == leg.names[len(leg.sites) : -1]
    assert leg.names[-1] == "inner side of the ankle"
    assert leg.discs == (*leg.sites.values(), *leg.bony, leg.inner[Landmark.ANKLE])
    assert leg.place("calf") == pytest.approx((30.0, np.pi / 2))
    with pytest.raises(ValueError, match="nowhere"):
        leg.place("nowhere")


@pytest.mark.parametrize(("pad_cm", "share"), [(1.0, 0.8), (2.0, 2 / 3), (0.4, 1 / 1.1)])
def test_under_a_pad_on_a_radius_of_4_cm_arrives_4_over_4_and_its_thickness(pad_cm, share) -> None:
    leg = tube().under_pads({"heel": pad_cm})
    assert leg.discs[leg.names.index("heel")].arrives == pytest.approx(share)
    assert leg.arrives.min() == pytest.approx(share)
    assert leg.pads_on_cells_cm.max() == pytest.approx(pad_cm)
    # The same from the start as put on later.
    at_once = tube(heel=pad_cm)
    assert at_once.pads_cm == leg.pads_cm == {"heel": pad_cm}
    np.testing.assert_allclose(at_once.arrives, leg.arrives)
    assert at_once.discs[leg.names.index("heel")].arrives == pytest.approx(share)


def test_a_pad_of_nothing_or_elsewhere_is_none() -> None:
    leg = tube(heel=0.0, nowhere=2.0)
    assert not leg.pads_on_cells_cm.any()
    assert leg.pads_on_cells_cm.shape == tube().pads_on_cells_cm.shape == leg.hoop_curvature.shape
    assert leg.arrives.min() == 1
    same = leg.under_pads({"heel": 0.0})
    for before, after in zip(leg.discs, same.discs, strict=True):
        assert after is before


def test_other_pads_leave_every_other_disc_as_it_is() -> None:
    """Also where a pad that lay is kept, taken off or put on by 1 mm."""
    leg = tube(heel=0.6, **{"shin edge": 0.1})
    heel, shin = (leg.names.index(name) for name in ("heel", "shin edge"))
    kept = leg.under_pads({"heel": 0.6})
    assert kept.discs[heel] is leg.discs[heel]
    assert kept.discs[shin].arrives == 1
    more = leg.under_pads({"heel": 0.6, "shin edge": 0.1, "Achilles tendon": 0.1})
    tendon = leg.names.index("Achilles tendon")
    assert more.discs[shin] is leg.discs[shin]
    assert more.discs[tendon].arrives == pytest.approx(1 / 1.025)


def test_other_pads_lie_on_a_curvature_worked_out_once() -> None:
    leg = tube()
    assert leg.under_pads({"heel": 1.0}).hoop_curvature is leg.hoop_curvature
    np.testing.assert_allclose(leg.hoop_curvature, 1 / 4)


def test_the_line_up_the_inner_side_has_a_disc_every_centimetre_and_a_half() -> None:
    s_cm, discs = tube().profile
    assert np.diff(s_cm) == pytest.approx(1.5)
    assert len(discs) == len(s_cm)


def test_a_girth_is_known_as_well_as_its_nearest_measured_ones() -> None:
    """0.3 cm of a tape at the calf, 1.8 cm where the gaiter was estimated, half of each between."""
    leg = tube("girth_cm.gaiter")
    rows = list(Landmark)
    error = leg.girths_at(np.array([20.0, 25.0, 30.0])).error_cm
    assert error.shape == (3, len(rows))
    assert error[:, rows.index(Landmark.GAITER)] == pytest.approx([1.8, 0.9, 0.0])
    assert error[:, rows.index(Landmark.CALF)] == pytest.approx([0.0, 0.15, 0.3])
    assert leg.girths_at(np.array([20.0])).girth_cm == pytest.approx([8 * np.pi], rel=1e-3)
    assert leg.girths(leg.discs[:2]).girth_cm == pytest.approx([8 * np.pi] * 2, rel=1e-3)


def test_what_was_computed_once_is_given_again() -> None:
    leg = tube()
    laid = leg.laid(SPIRAL)
    assert leg.laid(SPIRAL) is laid
    few, more = (Sampling(INPUTS, size, seed=1) for size in (8, 16))
    units = leg.units([(laid, False)], few)
    assert leg.units([(laid, False)], few) is units
    assert leg.units([(laid, True)], few) is not units
    assert leg.units([(laid, False)], more).shape == (1, 2, len(leg.discs), 16)
    limb = bandaged_leg()
    assert limb.under(Padding(0.3)) is limb.under(Padding(0.3))
    short = limb.under(Padding(0.3, end=Landmark.CALF))
    assert short is not limb.under(Padding(0.3))
    assert short.wool is limb.under(Padding(0.3)).wool


def test_the_first_part_of_a_sample_is_the_same_bandages() -> None:
    leg = tube()
    laid = leg.laid(SPIRAL)
    whole = leg.units([(laid, False)], Sampling(INPUTS, 16, seed=1))
    part = leg.units([(laid, False)], Sampling(INPUTS, 4, seed=1, of=16))
    np.testing.assert_allclose(part, whole[..., :4])


def test_pads_widen_the_girth_over_them_only() -> None:
    """A pad of 1 cm on a ring of radius 4 cm: more than nothing, less than all round, 2 pi cm."""
    plain, padded = tube(), tube(calf=1.0)
    more = padded.girth_cm(Landmark.CALF) - plain.girth_cm(Landmark.CALF)
    assert 0 < more < 2 * np.pi
    assert padded.girth_cm(Landmark.ANKLE) == plain.girth_cm(Landmark.ANKLE)


def test_pads_of_a_padding_lie_where_it_says() -> None:
    leg = bandaged_leg().under(Padding(0.3, pads_cm=(("heel", 0.6),)))
    assert leg.pads_cm == {"heel": 0.6}
    assert bandaged_leg().under(Padding(0.3)).pads_cm == {}


def test_start_and_end_are_as_asked_for_or_as_the_leg_was_measured() -> None:
    asked = bandaged_leg().under(Padding(0.3, start=Landmark.INSTEP, end=Landmark.CALF)).surface
    assert (asked.start, asked.end) == (Landmark.INSTEP, Landmark.CALF)
    plain = bandaged_leg().under(Padding(0.3)).surface
    assert (plain.start, plain.end) == (Landmark.METATARSAL_HEADS, Landmark.BELOW_KNEE)


def test_wool_that_is_built_up_lies_on_the_even_wool() -> None:
    """An ankle of 15.5 cm and 0.28 cm of wool, built up until a tape reads 18 cm.

    Smoothing the wool moves the girth by less than 2 mm.
    """
    measured = bandaged_leg().measured
    girth = {**measured.girth_cm, Landmark.ANKLE: 15.5, Landmark.GAITER: 18.0}
    thin = BandagedLeg(replace(measured, girth_cm=girth))
    even, built = (
        thin.under(Padding(0.28, 0.28, build)) for build in (Build.EVEN, Build.THIN_ANKLE)
    )
    # 2 pi times 0.28 cm is 1.76 cm.
    assert even.girth_cm(Landmark.ANKLE) == pytest.approx(17.26, abs=0.2)
    assert built.girth_cm(Landmark.ANKLE) == pytest.approx(18.0, abs=0.2)
    assert built.surface.padding_cm.min() >= 0.28
