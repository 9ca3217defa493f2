"""Cases in which much is said of a plan, and everything that a document says."""

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from gaiter.core.plan import bench_of
from gaiter.core.plan.bench import Bench
from gaiter.core.words import Said
from gaiter.files.case_file import read_case
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case

FOLDER = Path(str(resources.files("gaiter.data"))) / "examples"
EXAMPLES = sorted(path.stem for path in FOLDER.glob("*.toml"))

_LEG, _PERSON = "legs.right.", "person."
_LOOSE = {
    "readings": 30,
    "heights": {
        height: {"tension_percent": -6.0, "sure_percent": 2.0}
        for height in ("ankle", "calf", "below_knee")
    },
    "spread_percent": 8.0,
}
# Changes to the ordinary case of ``tests.strategies``: what each makes a plan say.
CASES: dict[str, dict[str, Any]] = {
    "ordinary": {},
    "in a chair, a carer": {
        f"{_PERSON}mobility": "chair", f"{_PERSON}rebandaged_by": "carer",
        f"{_PERSON}footwear": "ordinary shoe",
    },
    "poor arteries, self-care": {
        f"{_LEG}arterial.dorsalis_pedis_mmhg": 92, f"{_PERSON}rebandaged_by": "self",
    },
    "swollen": {
        f"{_LEG}purpose": "oedema", f"{_LEG}findings.pitting_grade": 3,
        f"{_PERSON}rebandaged_by": "nobody",
    },
    "heavy exudate, bulky dressing, untrained": {
        f"{_LEG}wound": {"place": "gaiter", "exudate": "heavy", "dressing_thickness_mm": 12},
        f"{_LEG}findings.skin_fragile": True, "bandager.training": "untrained",
    },
    "allergies, does not tolerate": {
        f"{_LEG}wound": {"place": "inner ankle", "friable": True, "exudate": "light"},
        f"{_PERSON}allergies": ["latex", "rubber accelerators"],
        f"{_PERSON}does_not_tolerate": ["elastic"],
    },
    "a sprain": {f"{_LEG}purpose": "support"},
    "little in stock": {
        f"{_LEG}findings.skin_eczema": True, "bandager.training": "untrained",
        "stock": {
            "orthopaedic_wool": {"rolls": 3, "thickness_mm": 5}, "zinc_paste": {"rolls": 1},
            "cohesive_inelastic": {"rolls": 1}, "light_elastic": {"rolls": 2},
        },
    },
    "nothing in stock": {"stock": {"coarse_gauze": {"rolls": 3}}},
    "known hands, calibrated sensor": {
        "bandager.initials": "", "bandager.habits": {"long_stretch_elastic": _LOOSE},
        "calibration": {"clinic": {"bandages": 4, "values": 9, "median": 0.8, "range95": 0.2}},
    },
    "inverted bottle": {
        f"{_LEG}findings.shape": "inverted bottle", f"{_LEG}girth_cm.calf": 25.0,
        f"{_LEG}girth_cm.below_knee": 26.0, f"{_LEG}girth_cm.gaiter": 24.0,
    },
    "thin": {
        f"{_LEG}girth_cm.ankle": 15.0, f"{_LEG}girth_cm.gaiter": 17.0,
        f"{_LEG}girth_cm.heel_instep": 26.0,
    },
    "wild girths": {f"{_LEG}girth_cm.calf": 50.0, f"{_LEG}girth_cm.gaiter": 20.0},
    "collapsed foot": {f"{_LEG}findings.foot_collapsed": True},
    "trained with feedback": {"bandager.training": "trained with feedback"},
}  # fmt: skip


@cache
def bench(name: str) -> Bench:
    """One of the cases or of the shipped examples, planned."""
    given = case(**CASES[name]) if name in CASES else read_case(FOLDER / f"{name}.toml")
    return bench_of(given, shipped_policy(), shipped_catalogue(), samples=64)


def said_in(value: Any) -> Iterator[Said]:
    """Everything that a document or a record says, whole sentences first."""
    if isinstance(value, Said):
        yield value
    parts: Any = ()
    if isinstance(value, BaseModel):
        parts = (getattr(value, name) for name in type(value).model_fields)
    elif is_dataclass(value):
        parts = (getattr(value, field.name) for field in fields(value))
    elif isinstance(value, Mapping):
        parts = value.values()
    elif isinstance(value, list | tuple):
        parts = value
    for part in parts:
        yield from said_in(part)
