"""The learnt shape: what a tape and a caliper tell of it, and what they may not."""

from dataclasses import replace
from importlib import resources

import numpy as np
import pytest

from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.anatomy import (
    CALIPER_SITES,
    FARTHEST,
    WAY_UP,
    Anatomy,
    anatomy,
    features,
    way_up,
)
from gaiter.core.leg.measurements import LegMeasurements
from tests.strategies import percentile_leg

INSTEP, LN_ANKLE = 1, 6
HEIGHTS = np.linspace(0, 6, 25)


def shape_numbers(measured: LegMeasurements, learnt: Anatomy | None = None):
    return (learnt or anatomy()).most_probable(measured).spline(HEIGHTS)


def with_features(off_sd, estimated: tuple[str, ...] = ()) -> LegMeasurements:
    """A leg whose features lie so many standard deviations off the mean of the bodies."""
    known = anatomy()
    wanted = known.features_mean + np.asarray(off_sd) * known.features_sd
    ankle = np.exp(wanted[LN_ANKLE])
    sites = (
        Landmark.METATARSAL_HEADS, Landmark.INSTEP, Landmark.HEEL_INSTEP, Landmark.CALF,
        Landmark.BELOW_KNEE,
    )  # fmt: skip
    girths = {site: ankle * np.exp(one) for site, one in zip(sites, wanted, strict=False)}
    girths[Landmark.ANKLE] = ankle
    return LegMeasurements(ankle * np.exp(wanted[5]), girths, {}, estimated=estimated)


def test_what_is_shipped_is_small() -> None:
    """The learnt numbers, not the bodies: 55 meshes would be 700 kB."""
    file = resources.files("gaiter.data").joinpath("leg_shape.npz")
    assert len(file.read_bytes()) < 200_000


def test_features_are_proportions_and_size() -> None:
    """ln of 22, 24, 33, 38 and 35 over 23, of 26 over 23, and of 23."""
    girths = dict(zip(Landmark, (22.0, 24.0, 33.0, 23.0, 27.0, 38.0, 35.0), strict=True))
    found = features(LegMeasurements(26.0, girths, {}))
    expected = [-0.04445, 0.04256, 0.36101, 0.50209, 0.41985, 0.12260, 3.13549]
    assert found == pytest.approx(expected, abs=1e-5)


def test_heights_change_no_shape() -> None:
    measured = percentile_leg(Sex.FEMALE, 1)
    taller = {site: 1.2 * at for site, at in measured.position_cm.items()}
    assert (shape_numbers(replace(measured, position_cm=taller)) == shape_numbers(measured)).all()


def test_the_mean_tape_has_the_mean_shape() -> None:
    known = anatomy()
    assert known.most_probable(with_features(np.zeros(7))).spline.c == pytest.approx(
        known.mean, abs=1e-9
    )


@pytest.mark.parametrize("feature", range(7))
def test_a_tape_outside_keeps_the_shape_of_the_nearest_inside(feature: int) -> None:
    """Two, three or ten standard deviations off are the same; one and a half are not."""
    off = np.zeros(7)

    def at(deviations: float):
        off[feature] = deviations
        return shape_numbers(with_features(off))

    for side in (1, -1):
        edge = at(side * FARTHEST)
        assert at(side * 3.0) == pytest.approx(edge, abs=1e-9)
        assert at(side * 10.0) == pytest.approx(edge, abs=1e-9)
        assert np.abs(at(side * 1.5) - edge).max() > 1e-4


def test_an_instep_that_nobody_took_tells_nothing() -> None:
    """Whatever is put in its place; one that was taken changes the shape."""
    off = np.array([0.5, 0.0, 0.3, -0.2, 0.1, 0.4, 0.0])
    small, large = off.copy(), off.copy()
    small[INSTEP], large[INSTEP] = -1.0, 1.0
    estimated = ("girth_cm.instep",)
    without = [shape_numbers(with_features(one, estimated)) for one in (small, large)]
    assert without[0] == pytest.approx(without[1], abs=1e-9)
    taken = [shape_numbers(with_features(one)) for one in (small, large)]
    assert np.abs(taken[0] - taken[1]).max() > 1e-3


def test_a_feature_that_is_lacking_is_what_the_others_tell_of_it() -> None:
    """Two features that go together by 0.6: one standard deviation of one is 0.6 of the other."""
    known = anatomy()
    joint = np.eye(7)
    joint[0, INSTEP] = joint[INSTEP, 0] = 0.6
    learnt = replace(known, features_joint=joint)
    off = np.zeros(7)
    off[0] = 1.0
    found = learnt.most_probable(with_features(off, ("girth_cm.instep",))).spline.c
    assert found - known.mean == pytest.approx(known.by_tape[0] + 0.6 * known.by_tape[INSTEP])


def test_another_estimate_counts_as_measured() -> None:
    """Published proportions stand behind it."""
    measured = percentile_leg(Sex.MALE, 1)
    marked = replace(measured, estimated=(*measured.estimated, "girth_cm.heel_instep"))
    assert (shape_numbers(marked) == shape_numbers(measured)).all()


def test_a_caliper_moves_the_shape_by_its_news_alone() -> None:
    """What the tape already told moves nothing; what is twice as new moves it twice as far."""
    known = anatomy()
    measured = with_features(np.zeros(7))
    expected = np.exp(known.caliper_mean)

    def moved(by: float):
        taken = {site: one * np.exp(by) for site, one in zip(CALIPER_SITES, expected, strict=True)}
        return shape_numbers(replace(measured, depth_over_width=taken)) - shape_numbers(measured)

    assert moved(0.0) == pytest.approx(0, abs=1e-9)
    assert moved(0.04) == pytest.approx(2 * moved(0.02), abs=1e-9)
    assert np.abs(moved(0.02)).max() > 1e-4


def test_a_caliper_far_outside_is_taken_for_the_nearest_inside() -> None:
    known = anatomy()
    measured = with_features(np.zeros(7))
    # Two standard deviations of what the tape leaves open at the ankle.
    edge = FARTHEST * known.caliper_left[0, 0] ** 0.5

    def at(by: float):
        taken = {Landmark.ANKLE: float(np.exp(known.caliper_mean[0] + by))}
        return shape_numbers(replace(measured, depth_over_width=taken))

    assert at(3 * edge) == pytest.approx(at(edge), abs=1e-9)
    assert np.abs(at(0.5 * edge) - at(edge)).max() > 1e-4


def test_the_way_up_passes_every_landmark_and_never_turns_back() -> None:
    along = way_up(dict(zip(WAY_UP, (0.0, 5.0, 16.0, 34.0, 42.0), strict=True)))
    assert along([0.0, 5.0, 16.0, 34.0, 42.0]) == pytest.approx([0, 1, 3, 5, 6])
    assert (np.diff(along(np.linspace(0, 42, 400))) > 0).all()


def test_a_section_is_closed_of_unit_girth_and_begins_at_the_front() -> None:
    """Equal steps round it, so every edge of 96 is a ninety-sixth of the way: within a tenth."""
    section, front, back = (
        anatomy()
        .most_probable(percentile_leg(Sex.MALE, 1))
        .sections(np.array([3.0, 4.0, 5.0, 6.0]), 96)
    )
    edges = np.abs(np.diff(section, append=section[:, :1], axis=1))
    assert edges.sum(axis=1) == pytest.approx(1, abs=0.02)
    assert edges * 96 == pytest.approx(1, abs=0.1)
    assert (front[:, 0] > back[:, 0]).all()
    # A quarter of the way round is the inner side, three quarters the outer.
    assert (section[:, 24].imag > section[:, 72].imag).all()
