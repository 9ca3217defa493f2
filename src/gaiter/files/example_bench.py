"""One planned leg that docstrings show their values on, computed once a process.

The leg is the invented inner ankle ulcer of the shipped examples, under wool and one elastic
bandage at half overlap: few enough layers that pressures can be worked out by hand.
"""

import tomllib
from functools import cache
from importlib import resources

from gaiter.core.case import Case
from gaiter.core.landmark import Side
from gaiter.core.plan.assemble import DesignedSystem
from gaiter.core.plan.bench import Bench
from gaiter.core.plan.padded_leg import Padding
from gaiter.core.plan.pads import JudgedPlace
from gaiter.core.plan.planner import bench_of
from gaiter.core.plan.system_catalogue import with_systems
from gaiter.core.plan.system_list import ListedLayer, ListedSystem, SystemList
from gaiter.core.plan.systems import Trait
from gaiter.core.spread.sampling import Band
from gaiter.core.words import Said
from gaiter.files.case_file import case_from_mapping
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy

# The fewest that still show a spread: an example is quick, and no leg is bandaged by it.
_SAMPLES = 64
ONE_ELASTIC = ListedSystem(
    title="One elastic bandage over wool",
    source="invented",
    traits=(Trait.ELASTIC,),
    change_days=7,
    layers=(
        ListedLayer(material="orthopaedic_wool"),
        ListedLayer(material="long_stretch_elastic"),
    ),
)


@cache
def example_case() -> Case:
    """The invented inner ankle ulcer on a right leg.

    Returns
    -------
    Case

    Examples
    --------
    >>> example_case().legs["right"].girth_cm.ankle  # as its file has it [cm]
    22.5
    """
    case = resources.files("gaiter.data").joinpath("examples", "inner-ankle-ulcer.toml")
    return case_from_mapping(tomllib.loads(case.read_text("utf-8")), "inner-ankle-ulcer.toml")


@cache
def example_bench() -> Bench:
    """The plan of the example with what it was computed from, for 64 sampled bandages.

    Returns
    -------
    Bench
        Its one system is ``one_elastic``.

    Examples
    --------
    Round the calf, 471.278 x thicknesses x tension / girth gives the mean within 3 %:

    >>> system, = example_bench().plan.legs["right"].systems
    >>> calf = next(site for site in system.sites if site.landmark == "calf")
    >>> foot, tension = system.layers[1].tensions_n_per_cm
    >>> by_hand = 471.278 * calf.thicknesses * tension / calf.girth_cm
    >>> 0.97 < calf.ring_mean_mmhg / by_hand < 1.02
    True
    """
    listed = SystemList(
        document="gaiter.systems/1",
        name="Example",
        version="1",
        systems={"one_elastic": ONE_ELASTIC},
    )
    catalogue = with_systems(shipped_catalogue(), listed, sha256="")
    return bench_of(example_case(), shipped_policy(), catalogue, samples=_SAMPLES)


def example_system() -> DesignedSystem:
    """The example's system before it is written down, with an invented pad of 6 mm on the heel.

    Returns
    -------
    DesignedSystem

    Examples
    --------
    >>> example_system().pads_mm
    {'heel': 6.0}
    """
    leg = example_bench().legs[Side.RIGHT]
    made, task = leg.made["one_elastic"], leg.task
    under = made.plan.padding
    return DesignedSystem(
        system=made.system,
        materials=made.materials,
        design=made.bare.with_pads({"heel": 0.6}),
        padding=Padding(under.even_cm, under.layer_cm, under.build, under.end, under.start),
        bandaged_leg=task.bandaged_leg,
        leg=task.leg,
        aim=task.aim,
        policy=task.policy,
        change_days=made.plan.change_days,
        change_reason=Said("invented"),
        regular_days=made.system.change_days,
        places=(
            JudgedPlace(
                name="heel",
                band=Band(70.0, 50.0, 95.0),
                bare_high_mmhg=130.0,
                chance_above=0.01,
                maximum_mmhg=120.0,
                pad_cm=0.6,
                exceeds=False,
            ),
        ),
    )
