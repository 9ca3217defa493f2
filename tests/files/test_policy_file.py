"""The policy that comes with the program, and a clinic's file over it."""

import hashlib
from importlib import resources

import pytest

from gaiter.files.policy_file import read_policy, shipped_policy
from gaiter.files.wording import FileError

OWN = """
name = "Heron Ford"
version = "3"

[values.ankle_stop_mmhg]
value = {value}
source = "clinic meeting (invented)"
strength = "local"
"""


@pytest.fixture
def own(tmp_path):
    def write(value):
        path = tmp_path / "own.toml"
        path.write_text(OWN.format(value=value))
        return path

    return write


def test_the_shipped_policy_carries_the_files_fingerprint() -> None:
    raw = resources.files("gaiter.data").joinpath("policy.toml").read_bytes()
    assert shipped_policy().sha256 == hashlib.sha256(raw).hexdigest()
    assert shipped_policy().changes == ()
    # Rabe et al. 2020 and SVS/AVF 2014: below 60 mmHg at the ankle.
    assert shipped_policy()["ankle_stop_mmhg"] == 60


def test_a_clinics_file_changes_its_own_value_only(own) -> None:
    path = own(70)
    policy = read_policy(path)
    assert policy.label == "Heron Ford, version 3"
    assert policy["ankle_stop_mmhg"] == 70
    assert policy["toe_stop_below_mmhg"] == shipped_policy()["toe_stop_below_mmhg"]
    assert policy.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert len(policy.changes) == 1


def test_a_file_that_guards_less_says_so(own) -> None:
    assert read_policy(own(70)).loosened == ()
    (said,) = read_policy(own(50)).loosened
    assert str(said) == "ankle stop mmhg: 60 to 50 mmHg (Heron Ford, version 3)"


def test_what_is_out_of_range_is_refused_in_words(own) -> None:
    with pytest.raises(FileError, match=r"own.toml.*must be 40 to 100 mmHg; received 10"):
        read_policy(own(10))
