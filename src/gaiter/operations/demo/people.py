"""Who is in the demo clinic: invented people with ordinary and awkward legs."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from gaiter.core.safety import none_present, one_press_paths, screen_paths
from gaiter.records.visit.boxes import box_path

PASSWORD = "heron ford demo"  # printed on the sign-in page of the demo only
ACCOUNTS = (
    ("mercer", "Dr Ilse Mercer", "IM", "prescriber", "trained with feedback"),
    ("rowan", "Tam Rowan", "TR", "bandager", "trained"),
    ("sedge", "Pia Sedge", "PS", "bandager", "trained"),
    ("wicket", "Jon Wicket", "JW", "learner", "untrained"),
    ("alder", "Bea Alder", "BA", "manager", "untrained"),
)

# An ordinary leg and person; every spec below changes some of it.
ORDINARY: Mapping[str, Any] = {
    "person.mobility": "walks",
    "person.heart_failure_class": 0,
    "person.diabetes": False,
    "person.kidney_disease": False,
    "person.rheumatoid_arthritis": False,
    "person.can_report_pain": True,
    "person.can_be_taken_off": True,
    "person.allergies": [],
    "person.footwear": "wide shoe",
    "person.rebandaged_by": "clinic",
    "leg.purpose": "venous ulcer",
    "leg.foot_length_cm": 24.8,
    "leg.girth_cm.metatarsal_heads": 23.0,
    "leg.girth_cm.instep": 24.0,
    "leg.girth_cm.heel_instep": 31.5,
    "leg.girth_cm.ankle": 23.5,
    "leg.girth_cm.gaiter": 27.5,
    "leg.girth_cm.calf": 37.0,
    "leg.girth_cm.below_knee": 33.5,
    "leg.position_cm.metatarsal_heads": 18.4,
    "leg.position_cm.instep": 13.6,
    "leg.position_cm.ankle": 11.5,
    "leg.position_cm.gaiter": 19.0,
    "leg.position_cm.calf": 29.5,
    "leg.position_cm.below_knee": 38.0,
    "arms.left_mmhg": 134,
    "arms.right_mmhg": 138,
    "leg.arterial.dorsalis_pedis_mmhg": 132,
    "leg.arterial.posterior_tibial_mmhg": 141,
    "leg.arterial.waveform": "triphasic",
    "leg.arterial.rested_min": 15,
    "leg.arterial.lying_flat": True,
    "leg.findings.bypass": "none",
    "leg.findings.stent": False,
    "leg.findings.wound": "leg",
    "leg.findings.absent_monofilament_sites": 0,
    "leg.findings.shape": "ordinary",
    "leg.wound.place": "inner ankle",
    "leg.wound.length_cm": 4.0,
    "leg.wound.width_cm": 3.0,
    "leg.wound.duration_weeks": 9,
    "leg.wound.exudate": "moderate",
    "leg.wound.over_bone": False,
    "leg.wound.friable": False,
    "bandager.training": "trained",
}
# What is looked at anew at every visit.
EVERY_VISIT: Mapping[str, Any] = {
    "look.hours_worn": 160,
    "look.came_off": "in place",
    "look.marks": False,
    "look.pain": 2,
    "toes.colour": "same",
    "toes.refill": "within 2 to 3 seconds",
    "toes.warmth": "warm",
    "toes.feeling": "every toe",
    "toes.movement": "every toe",
    "leg.findings.pitting_grade": 1,
    # Asked all of these, none present; what describes the person is said once, above.
    **{
        box_path(path): none_present(path)
        for path in screen_paths()
        if path in one_press_paths() and box_path(path) not in ORDINARY
    },
    "care.wash": "Washed with water, moisturised.",
    "care.dressing": "Plain absorbent dressing.",
}
NO_WOUND: Mapping[str, Any] = {
    **dict.fromkeys(path for path in ORDINARY if path.startswith("leg.wound.")),
    "leg.findings.wound": "none",
}


@dataclass(frozen=True)
class Spec:
    """One invented leg.

    Attributes
    ----------
    name, born, side : str
        Who, and which leg.
    visits, every_days : int
        How many visits, how far apart.
    last_days_ago, back_in_days : int
        When the last one was, and when the next was to be after it.
    changes : Mapping
        What differs from the ordinary leg.
    last : Mapping
        What differs at the last visit.
    ankle_to_cm : float or None
        Girth that the ankle has shrunk to by the last visit.
    heals : float
        Share that each wound side keeps from visit to visit.
    tested_days_ago : int or None
        Age of the arterial test at the last visit; None: not tested.
    story : tuple[str, ...]
        What else happened, by name.
    """

    name: str
    born: str
    side: str
    visits: int = 3
    every_days: int = 7
    last_days_ago: int = 7
    back_in_days: int = 7
    sex: str = "female"
    changes: Mapping[str, Any] = field(default_factory=dict)
    last: Mapping[str, Any] = field(default_factory=dict)
    ankle_to_cm: float | None = None
    heals: float = 0.93
    tested_days_ago: int | None = 40
    story: tuple[str, ...] = ()


SPECS = (
    Spec("Ada Fenwick", "1951-03-14", "right", visits=8),
    Spec("Bram Okafor", "1944-11-02", "left", 6, 7, 8, sex="male", heals=1.0),
    Spec("Cilla Marsh", "1939-07-21", "right", 5, 4, 2, 4, changes={
        "leg.purpose": "mixed disease", "leg.arterial.dorsalis_pedis_mmhg": 92,
        "leg.arterial.posterior_tibial_mmhg": 99, "leg.arterial.toe_mmhg": 64,
        "leg.arterial.waveform": "biphasic"}),
    Spec("Doran Pike", "1960-01-30", "left", 4, 7, 19, sex="male"),
    Spec("Edda Quill", "1948-05-05", "right", 4, 4, 4, 4, changes={
        "person.heart_failure_class": 2, "leg.purpose": "oedema", **NO_WOUND,
        "leg.girth_cm.ankle": 26.0, "leg.girth_cm.gaiter": 31.0, "leg.girth_cm.calf": 40.0,
        "leg.girth_cm.below_knee": 36.5}, ankle_to_cm=25.2),
    Spec("Edda Quill", "1948-05-05", "left", 4, 4, 4, 4, changes={
        "person.heart_failure_class": 2, "leg.purpose": "oedema", **NO_WOUND,
        "leg.girth_cm.ankle": 25.4, "leg.girth_cm.gaiter": 30.0, "leg.girth_cm.calf": 39.5,
        "leg.girth_cm.below_knee": 36.0}, ankle_to_cm=24.9),
    Spec("Femi Archer", "1957-09-09", "right", 0, sex="male", story=("half filled",)),
    Spec("Greta Holm", "1953-12-24", "left", 2, 7, 7, story=("plan waits",)),
    Spec("Hugo Lind", "1946-04-18", "right", 5, 7, 3, sex="male", story=("call",)),
    Spec("Ines Varga", "1941-02-11", "left", 12, 7, 5, tested_days_ago=420, heals=0.97),
    Spec("Jory Tamm", "1950-10-10", "right", 4, 7, 5, sex="male", changes={
        "leg.girth_cm.ankle": 27.5, "leg.girth_cm.gaiter": 32.0, "leg.girth_cm.calf": 41.0,
        "leg.girth_cm.below_knee": 37.0}, ankle_to_cm=25.0),
    Spec("Kai Brandt", "1937-06-06", "left", 3, 7, 2, last={"toes.colour": "paler"},
         story=("taken off",)),
    Spec("Lotte Sand", "1949-08-17", "right", 3, 7, 4, story=("sensor high",)),
    Spec("Milo Garth", "1956-03-03", "left", 2, 4, 1, 4, sex="male", story=("bad check",)),
    Spec("Nora Wick", "1935-01-19", "right", 1, 7, 1, 7, last={
        "leg.findings.rest_pain": True, "leg.findings.worse": None},
         changes={"leg.arterial.dorsalis_pedis_mmhg": 52, "leg.arterial.posterior_tibial_mmhg": 48,
                  "leg.arterial.toe_mmhg": 24, "leg.arterial.waveform": "monophasic"}),
    Spec("Omar Selby", "1962-05-27", "left", 1, 7, 0, 2, sex="male",
         last={"leg.findings.clot.state": "suspected", "leg.findings.worse": None,
               "leg.findings.clot.signs.whole_leg_swollen": True,
               "leg.findings.clot.signs.tender_deep_veins": True}),
    Spec("مريم الحداد", "1945-07-07", "right", 20, 7, 6, changes={
        "leg.purpose": "maintenance", **NO_WOUND}),
    Spec("Zoë Ångström-Łukasiewicz", "1931-09-30", "left", 6, 4, 3, 4, changes={
        "leg.purpose": "palliative", "person.mobility": "chair", "person.can_report_pain": False,
        "leg.findings.ankle_stiff": True}, heals=1.02),
    Spec("Quentin Ash", "1947-11-11", "right", 5, 7, 6, sex="male", changes={
        "person.diabetes": True, "leg.findings.forefoot_amputation": True,
        "leg.arterial.tcpo2_mmhg": 47,
        "leg.girth_cm.metatarsal_heads": None, "leg.position_cm.metatarsal_heads": None,
        "leg.purpose": "mixed disease"}),
    Spec("Runa Bell", "1958-02-28", "left", 4, 7, 6, changes={
        "leg.girth_cm.ankle": 17.6, "leg.girth_cm.gaiter": 24.0, "leg.girth_cm.calf": 38.5,
        "leg.girth_cm.heel_instep": 29.0, "leg.girth_cm.metatarsal_heads": 21.5,
        "leg.girth_cm.instep": 22.5}),
    Spec("Silas Crow", "1964-06-15", "right", 7, 4, 3, 4, sex="male", changes={
        "leg.girth_cm.ankle": 30.0, "leg.girth_cm.gaiter": 36.0, "leg.girth_cm.calf": 49.0,
        "leg.girth_cm.below_knee": 45.0, "leg.girth_cm.heel_instep": 36.0,
        "leg.girth_cm.metatarsal_heads": 27.0, "leg.girth_cm.instep": 28.0}),
    Spec("Tove Dahl", "1952-04-04", "left", 9, 7, 7, changes={
        "person.allergies": ["latex", "colophony"], "leg.findings.skin_eczema": True}),
    Spec("Una Frost", "1943-08-08", "right", 3, 3, 3, 3, changes={
        "leg.wound.exudate": "heavy", "leg.wound.friable": True,
        "leg.findings.skin_fragile": True}),
    Spec("Viggo Hart", "1955-10-21", "left", 3, 7, 7, sex="male", story=("two differ",)),
    Spec("Wren Iske", "1940-12-12", "right", 2, 4, 2, 4, last={"person.breathless_lying": True},
         story=("override",)),
    Spec("Yara Joll", "1989-01-05", "left", 1, 3, 2, 3, changes={
        "leg.purpose": "support", "leg.findings.sprain": True, **NO_WOUND}),
    Spec("Odd Prune", "1942-02-02", "right", 2, 7, 6, sex="male", changes={
        "leg.arterial.dorsalis_pedis_mmhg": 190, "leg.arterial.posterior_tibial_mmhg": 186}),
    Spec("Xavi Knot", "1954-07-13", "left", 10, 7, 20, sex="male", heals=0.8, story=("healed",)),
)  # fmt: skip
