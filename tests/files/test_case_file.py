"""Every kind of bad input gets one clear sentence that names the field."""

import json
from pathlib import Path

import pytest

from gaiter.core.case import Case
from gaiter.files.case_file import case_from_mapping, read_case
from gaiter.files.wording import FileError
from tests.strategies import case_mapping

G, POS = "legs.right.girth_cm.", "legs.right.position_cm."
A, F = "legs.right.arterial.", "legs.right.findings."

BAD = [
    # millimetres and inches
    ({f"{G}ankle": 225}, f"{G}ankle: must be 13 to 60 cm; received 225: this looks like "
                         "millimetres, give 22.5 cm"),
    ({f"{G}calf": 370.0}, "this looks like millimetres, give 37 cm"),
    ({f"{G}ankle": 8.9}, f"{G}ankle: must be 13 to 60 cm; received 8.9: this looks like inches, "
                         "give 22.6 cm"),
    ({f"{POS}calf": 11.6}, "this looks like inches, give 29.5 cm"),
    # impossible legs
    ({f"{G}ankle": 38.0}, "girth_cm.ankle must be at most the calf's 37 cm; received 38 cm"),
    ({f"{POS}gaiter": 31.0}, "position_cm.calf must be more than position_cm.gaiter, 31 cm; "
                             "received 29.5 cm"),
    ({f"{POS}metatarsal_heads": 12.0}, "position_cm.metatarsal_heads must be more than "
                                       "position_cm.instep, 13.8 cm; received 12 cm"),
    # negative, zero, not a number
    ({f"{G}calf": -37.0}, f"{G}calf: must be 18 to 95 cm; received -37.0: measure it again"),
    ({f"{G}calf": 0}, f"{G}calf: must be 18 to 95 cm; received 0"),
    ({f"{G}calf": float("nan")}, f"{G}calf: must be 18 to 95 cm; received nan"),
    ({f"{G}calf": float("inf")}, f"{G}calf: must be 18 to 95 cm; received inf"),
    # unknown keys and wrong types
    ({f"{G}ankel": 22.5}, f"{G}ankel: unknown field; did you mean ankle?"),
    ({"weather": "fine"}, "weather: unknown field; expected one of arms, bandager"),
    ({"legs.middle": {}}, "legs.middle"),
    ({f"{G}ankle": "thin"}, f"{G}ankle: must be 13 to 60 cm; received 'thin'"),
    ({"legs": {}}, "legs"),
    ({"legs.right.purpose": "beauty"}, "legs.right.purpose: must be one of 'venous ulcer'"),
    ({"today": "yesterday"}, "today: must be a date such as 2026-11-25; received 'yesterday'"),
    ({"schema": "gaiter.case/9"}, "schema: must be one of 'gaiter.case/1'"),
    # missing
    ({"bandager": None}, "bandager: required and missing"),
    ({f"{G}below_knee": None}, f"{G}below_knee: required and missing; give 18 to 90 cm"),
    ({"legs.right.depth_cm.calf": 12.0}, "width_cm.calf is required beside depth_cm.calf: measure"),
    ({"legs.right.width_cm.gaiter": 6.0}, "width_cm.gaiter"),
    ({"legs.right.width_cm.ankle": 62.0}, "2.5 to 19 cm"),
    ({f"{G}metatarsal_heads": None}, "girth_cm.metatarsal_heads is required: measure it in cm"),
    # dates
    ({f"{A}measured_on": "2027-01-01"}, "legs.right.arterial.measured_on must be on or before "
                                        "today, 2026-11-25; received 2027-01-01"),
    # impossible arterial numbers: an ABI of 1.10 at an ankle of 58 mmHg means an arm of 53
    ({"arms": {"left_mmhg": 53}}, "arms.left_mmhg: must be 60 to 260 mmHg; received 53"),
    ({f"{A}dorsalis_pedis_mmhg": 400}, "must be 20 to 300 mmHg; received 400"),
    # contradictions
    ({f"{F}clot.old_signs.whole_leg_swollen": "2027-01-01"},
     "findings.clot.old_signs.whole_leg_swollen must be on or before today"),
    ({f"{F}antibiotics_started": True}, "infection is 'none' but antibiotics_started is true"),
    ({f"{F}bypass_route": "to the foot"}, "bypass is 'none' but bypass_route is given"),
    ({f"{F}forefoot_amputation": True}, "girth_cm.metatarsal_heads is given on a foot with "
                                        "forefoot_amputation"),
    # stock
    ({"stock": {}}, "stock must hold at least one roll of one material; received none"),
    ({"stock": {"short_stretch": {"rolls": 0}}}, "stock must hold at least one roll"),
    ({"reference": "x" * 10_000}, "reference: must be text of at most 80 characters"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "sentence"), BAD)
def test_bad_input_is_named(changes: dict, sentence: str) -> None:
    with pytest.raises(FileError) as error:
        case_from_mapping(case_mapping(**changes), "case.toml")
    assert sentence in str(error.value)
    assert all(problem.text for problem in error.value.problems)


def test_every_problem_is_reported_at_once() -> None:
    wrong = case_mapping(**{f"{G}ankle": 225, f"{G}calf": 370, "weather": 1})
    with pytest.raises(FileError) as error:
        case_from_mapping(wrong)
    assert len(error.value.problems) == 3


def test_a_long_wrong_value_is_not_echoed_whole() -> None:
    with pytest.raises(FileError) as error:
        case_from_mapping(case_mapping(**{f"{G}ankle": "x" * 5000}))
    assert len(str(error.value)) < 300


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("big.toml", b"# " + b"x" * 3_000_000, "at most 1000 kB; received 3000 kB"),
        ("junk.toml", bytes(range(256)), "is not a text file in UTF-8"),
        ("broken.toml", b"schema = \n", "is not well-formed"),
        ("broken.json", b'{"schema": ', "is not well-formed"),
        ("nan.json", b'{"schema": NaN}', "NaN is no number that can be measured"),
        ("list.json", b"[1, 2]", "must hold one table at the top"),
        ("deep.json", b"[" * 100_000, "is not well-formed"),
        ("empty.toml", b"", "required and missing"),
    ],
)
def test_bad_files(tmp_path: Path, name: str, content: bytes, sentence: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(FileError, match=name) as error:
        read_case(path)
    assert sentence in str(error.value)


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="cannot be read .No such file or directory"):
        read_case(tmp_path / "nowhere.toml")


def test_toml_and_json_say_the_same(tmp_path: Path) -> None:
    mapping = case_mapping()
    path = tmp_path / "case.json"
    path.write_text(json.dumps(mapping))
    assert read_case(path) == Case.model_validate(mapping)
