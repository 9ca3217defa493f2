"""From what a tape measured to everything a surface needs.

Estimates are marked, wild entries questioned.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from gaiter.core.case.leg import MeasuredLeg
from gaiter.core.case.person import Sex
from gaiter.core.landmark import LEG_SITES, Landmark
from gaiter.core.leg.anthropometry import PUBLISHED, nearest_sex
from gaiter.core.leg.build import girths_at
from gaiter.core.leg.caliper import caliper_questions, depth_over_width
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.words import Said

# The gaiter site stands 12 cm above the inner ankle bone in one set of studies (Mosti & Partsch
# 2011, EJVES, doi 10.1016/j.ejvs.2011.04.023) and 8 cm in another (Partsch et al. 2006, J Vasc
# Surg, doi 10.1016/j.jvs.2006.06.024). The higher one is used: there the calf muscle turns to
# tendon on most legs. The smallest girth lies about 4 cm above the bone (assumption).
GAITER_ABOVE_BONE_CM = 12.0
ANKLE_ABOVE_BONE_CM = 4.0
# Assumptions, no published value: the instep lies at this share of the foot's length, and its
# girth over the ball girth.
INSTEP_SHARE_OF_FOOT = 0.55
INSTEP_OVER_BALL_GIRTH = 1.04
# The published residuals are of fit adults; beyond this many the tape asks for a second look.
WILD_DEVIATIONS = 3.0
_BALL_SHARE_OF_FOOT = (0.6, 0.85)
_LARGE = (
    "{name} {girth:g} cm is large for an ankle of {ankle:g} cm (expected about {expected:.0f} cm): "
    "measure both again; swelling can explain it"
)
_SMALL = (
    "{name} {girth:g} cm is small for an ankle of {ankle:g} cm (expected about {expected:.0f} cm): "
    "measure both again; swelling can explain it"
)


@dataclass(frozen=True)
class Completion:
    """Complete measurements and questions about wild entries, in words.

    Examples
    --------
    >>> Completion(LegMeasurements(26.5, {}, {}), (Said("measure both again"),)).questions[0].text
    'measure both again'
    """

    measurements: LegMeasurements
    questions: tuple[Said, ...]


def complete_measurements(leg: MeasuredLeg, sex: Sex | None = None) -> Completion:
    """Complete measurements of a leg.

    Parameters
    ----------
    leg : MeasuredLeg
        What was measured.
    sex : Sex or None
        Chooses the published regression; without it the nearer group by foot size.

    Returns
    -------
    Completion
        ``measurements.estimated`` names what was not measured.

    References
    ----------
    Gordon et al. 2014, NATICK/TR-15/007 (regressions); see
    :mod:`gaiter.core.leg.anthropometry`.
    Mosti & Partsch 2011, EJVES, doi 10.1016/j.ejvs.2011.04.023 (gaiter 12 cm above the inner ankle
    bone); 8 cm in Partsch et al. 2006, J Vasc Surg, doi 10.1016/j.jvs.2006.06.024.

    Examples
    --------
    Heel–instep girth of the nearer published group (men), 15.64 + 0.816 x 22.5:

    >>> leg = MeasuredLeg(
    ...     foot_length_cm=26,
    ...     girth_cm={"metatarsal_heads": 23.5, "ankle": 22.5, "calf": 37, "below_knee": 34},
    ...     position_cm={"ankle": 12, "calf": 31, "below_knee": 39},
    ... )
    >>> complete = complete_measurements(leg).measurements
    >>> round(complete.girth_cm[Landmark.HEEL_INSTEP], 1)
    34.0
    >>> "girth_cm.heel_instep" in complete.estimated
    True
    """
    girths, positions = leg.girth_cm, leg.position_cm
    group = PUBLISHED[sex or nearest_sex(girths.heel_instep, leg.foot_length_cm)]
    estimated: list[str] = []

    def known(name: str, measured_cm: float | None, estimate_cm: float) -> float:
        if measured_cm is not None:
            return measured_cm
        estimated.append(name)
        return estimate_cm

    foot_scale = group.foot_length.mean_cm / group.heel_ankle_girth.mean_cm
    heel = known(
        "girth_cm.heel_instep",
        girths.heel_instep,
        group.heel_ankle_on_ankle.at(girths.ankle),
    )
    foot = known("foot_length_cm", leg.foot_length_cm, heel * foot_scale)
    ball_share = group.ball_length.mean_cm / group.foot_length.mean_cm
    instep_at = known("position_cm.instep", positions.instep, INSTEP_SHARE_OF_FOOT * foot)
    ball_at = known(
        "position_cm.metatarsal_heads",
        positions.metatarsal_heads,
        max(ball_share * foot, instep_at + 3),
    )
    amputated = bool(leg.findings.forefoot_amputation)
    ball = known(
        "girth_cm.metatarsal_heads",
        girths.metatarsal_heads,
        girths.instep / INSTEP_OVER_BALL_GIRTH
        if girths.instep is not None
        else group.ball_girth_on_ankle.at(girths.ankle),
    )
    instep = known("girth_cm.instep", girths.instep, INSTEP_OVER_BALL_GIRTH * ball)
    above_ankle = GAITER_ABOVE_BONE_CM - ANKLE_ABOVE_BONE_CM
    # On a short leg the gaiter stays in the lower half of the way to what is measured over it.
    over = (positions.at(one) for one in LEG_SITES[LEG_SITES.index(Landmark.GAITER) + 1 :])
    room_over_ankle = next(at for at in over if at is not None) - positions.ankle
    gaiter_at = known(
        "position_cm.gaiter",
        positions.gaiter,
        positions.ankle + min(above_ankle, room_over_ankle / 2),
    )
    girth_cm = {
        Landmark.METATARSAL_HEADS: ball,
        Landmark.INSTEP: instep,
        Landmark.HEEL_INSTEP: heel,
        Landmark.ANKLE: girths.ankle,
        Landmark.CALF: girths.calf,
        Landmark.BELOW_KNEE: girths.below_knee,
    }
    position_cm = {
        Landmark.METATARSAL_HEADS: ball_at,
        Landmark.INSTEP: instep_at,
        Landmark.ANKLE: positions.ankle,
        Landmark.GAITER: gaiter_at,
        Landmark.CALF: positions.calf,
        Landmark.BELOW_KNEE: positions.below_knee,
    }
    for landmark in LEG_SITES:
        if landmark not in position_cm:
            half_way = _half_way(landmark, position_cm)
            at = known(f"position_cm.{landmark}", positions.at(landmark), half_way)
            position_cm[landmark] = at
        laid = girths.at(landmark)
        if laid is not None:
            girth_cm[landmark] = laid
    measurements = with_every_leg_site(
        LegMeasurements(
            foot_length_cm=foot,
            girth_cm={
                landmark: girth_cm[landmark] for landmark in Landmark if landmark in girth_cm
            },
            position_cm=position_cm,
            start=Landmark.INSTEP if amputated else Landmark.METATARSAL_HEADS,
            estimated=tuple(estimated),
            depth_over_width=depth_over_width(leg),
        )
    )
    sexes = [sex] if sex else list(PUBLISHED)
    return Completion(measurements, tuple(_questions(leg, measurements, sexes)))


def with_every_leg_site(measured: LegMeasurements) -> LegMeasurements:
    """Measurements with the girth that the leg's shape has at each landmark that they lack.

    A plan that was written before a landmark was known is drawn by them.

    Parameters
    ----------
    measured : LegMeasurements
        Complete but for some of ``LEG_SITES`` between the ankle and the place below the knee.

    Returns
    -------
    LegMeasurements
        The same where nothing was lacking.

    Examples
    --------
    A place that was not measured is half-way between its neighbours:

    >>> site = Landmark
    >>> girth = {site.METATARSAL_HEADS: 23.5, site.INSTEP: 24.5, site.HEEL_INSTEP: 33.0,
    ...          site.ANKLE: 22.5, site.CALF: 37.0, site.BELOW_KNEE: 34.0}
    >>> place = {site.METATARSAL_HEADS: 19.5, site.INSTEP: 14.5,
    ...          site.ANKLE: 12.0, site.CALF: 31.0, site.BELOW_KNEE: 39.0}
    >>> whole = with_every_leg_site(LegMeasurements(26.5, girth, place))
    >>> whole.position_cm[site.GAITER], whole.estimated
    (21.5, ('position_cm.gaiter', 'girth_cm.gaiter'))
    """
    position_cm = dict(measured.position_cm)
    lacking = [landmark for landmark in LEG_SITES if landmark not in measured.girth_cm]
    if not lacking:
        return measured
    estimated = list(measured.estimated)
    for landmark in lacking:
        if landmark not in position_cm:
            position_cm[landmark] = _half_way(landmark, position_cm)
            estimated.append(f"position_cm.{landmark}")
    found = girths_at(measured, [position_cm[landmark] for landmark in lacking])
    girth_cm = {**measured.girth_cm, **dict(zip(lacking, found.tolist(), strict=True))}
    return replace(
        measured,
        girth_cm={landmark: girth_cm[landmark] for landmark in Landmark},
        position_cm=position_cm,
        estimated=(*estimated, *(f"girth_cm.{landmark}" for landmark in lacking)),
    )


def _half_way(landmark: Landmark, position_cm: Mapping[Landmark, float]) -> float:
    """Half-way between the landmark's neighbours, where nobody measured it [cm]."""
    order = [one for one in LEG_SITES if one in position_cm or one is landmark]
    number = order.index(landmark)
    return (position_cm[order[number - 1]] + position_cm[order[number + 1]]) / 2


def _questions(leg: MeasuredLeg, complete: LegMeasurements, sexes: list[Sex]) -> Iterator[Said]:
    """Entries far off the published regressions, or out of proportion."""
    girths = leg.girth_cm
    pairs = (
        (Said("calf girth"), girths.calf, "calf_on_ankle"),
        (Said("heel–instep girth"), girths.heel_instep, "heel_ankle_on_ankle"),
        (
            Said("girth at the metatarsal heads"),
            girths.metatarsal_heads,
            "ball_girth_on_ankle",
        ),
    )
    for name, value, line_name in pairs:
        if value is None:
            continue
        lines = [getattr(PUBLISHED[sex], line_name) for sex in sexes]
        off = min((line.deviations(girths.ankle, value) for line in lines), key=abs)
        if abs(off) > WILD_DEVIATIONS:
            expected = sum(line.at(girths.ankle) for line in lines) / len(lines)
            yield Said(
                _LARGE if off > 0 else _SMALL,
                {
                    "name": name,
                    "girth": value,
                    "ankle": girths.ankle,
                    "expected": float(expected),
                },
                "wild_girth",
            )
    if girths.below_knee > girths.calf:
        yield Said(
            "below-knee girth {below_knee:g} cm is larger than the calf's {calf:g} cm: measure "
            "both again; swelling or fat at the knee can explain it",
            {"below_knee": girths.below_knee, "calf": girths.calf},
            "below_knee_over_calf",
        )
    share = complete.position_cm[Landmark.METATARSAL_HEADS] / complete.foot_length_cm
    low, high = _BALL_SHARE_OF_FOOT
    if not low <= share <= high and complete.start is Landmark.METATARSAL_HEADS:
        yield Said(
            "metatarsal heads {position:g} cm from the heel do not fit a foot of {foot:g} cm "
            "(expected {low:.0%} to {high:.0%} of it): measure both again",
            {
                "position": complete.position_cm[Landmark.METATARSAL_HEADS],
                "foot": complete.foot_length_cm,
                "low": low,
                "high": high,
            },
            "wild_foot",
        )
    if girths.gaiter is not None and not girths.ankle <= girths.gaiter <= girths.calf:
        yield Said(
            "gaiter girth {gaiter:g} cm lies outside ankle {ankle:g} cm to calf {calf:g} cm: "
            "measure it again",
            {"gaiter": girths.gaiter, "ankle": girths.ankle, "calf": girths.calf},
            "wild_gaiter",
        )
    yield from caliper_questions(leg)
