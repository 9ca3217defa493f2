from pathlib import Path

import pytest

from gaiter.core.case import Sex
from gaiter.files.cohort_file import Cohort, read_cohort
from gaiter.files.wording import FileError

EXAMPLE = Path(__file__).parents[2] / "examples/cohort/six-legs.csv"
HEADER = "leg,sex,ankle_girth_cm,calf_girth_cm,ankle_height_cm,calf_height_cm,below_knee_height_cm"
LEG = "A,f,22.5,37,11.5,29.5,38"
SURVEY = "sex,age,ankle_girth_mm,ball_girth_mm,calf_girth_mm,heel_ankle_girth_mm,ball_length_mm,"
SURVEY += "foot_length_mm,malleolus_height_mm,tibial_height_mm"


@pytest.fixture
def read(tmp_path: Path):
    def of(*lines: str, encoding: str = "utf-8") -> Cohort:
        path = tmp_path / "legs.csv"
        path.write_bytes("\n".join(lines).encode(encoding))
        return read_cohort(path)

    return of


def test_the_example_is_invented_and_whole() -> None:
    cohort = read_cohort(EXAMPLE)
    assert len(cohort.legs) == 6
    assert all(leg.leg is not None for leg in cohort.legs)
    assert all(leg.name.startswith("invented") for leg in cohort.legs)
    assert cohort.unused == ("note",)
    assert cohort.legs[0].sex is Sex.FEMALE
    assert cohort.legs[5].sex is None
    assert "girth_cm.below_knee" not in cohort.legs[0].estimated
    assert set(cohort.legs[5].estimated) == {"girth_cm.below_knee", "girth_cm.metatarsal_heads"}


def test_a_survey_in_millimetres_without_names_is_read_and_completed(read) -> None:
    cohort = read(
        SURVEY, "f,30,215,227,372,310,182,246,63,437", "m,40,228,252,392,343,201,271,73,468"
    )
    woman = cohort.legs[0]
    assert [leg.name for leg in cohort.legs] == ["1", "2"]
    assert woman.leg.girth_cm.ankle == 21.5
    assert woman.leg.foot_length_cm == 24.6
    assert woman.leg.position_cm.metatarsal_heads == 18.2
    # As in examples/anthropometry/women-50.toml; a tape reads to 1 mm.
    assert woman.leg.position_cm.ankle == pytest.approx(10.3, abs=0.1)
    assert woman.leg.position_cm.calf == pytest.approx(29.5, abs=0.1)
    assert woman.leg.position_cm.below_knee == pytest.approx(37.7, abs=0.1)
    assert woman.leg.girth_cm.below_knee == pytest.approx(34.2, abs=0.1)
    assert set(woman.estimated) == {
        "position_cm.ankle", "position_cm.calf", "position_cm.below_knee", "girth_cm.below_knee",
    }  # fmt: skip
    assert cohort.unused == ("age",)


def test_names_of_many_unnamed_legs_sort_as_they_stand(read) -> None:
    names = [leg.name for leg in read(SURVEY, *["f,30,215,227,372,310,182,246,63,437"] * 11).legs]
    assert names == sorted(names)
    assert names[0] == "01"


def test_semicolons_and_decimal_commas_are_read(read) -> None:
    leg = read(HEADER.replace(",", ";"), "A;f;22,5;37;11,5;29,5;38").legs[0]
    assert leg.leg.girth_cm.ankle == 22.5


def test_a_byte_order_mark_and_empty_lines_do_not_matter(read) -> None:
    assert read(HEADER, "", LEG, ",,,,,,", encoding="utf-8-sig").legs[0].name == "A"


def test_the_fingerprint_is_of_the_file(read) -> None:
    assert read(HEADER, LEG).sha256 != read(HEADER, LEG.replace("37", "38")).sha256


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("A,f,,37,11.5,29.5,38", "not measured: girth of ankle"),
        ("A,f,22.5,37,11.5,,", "not measured: position of calf, position of below knee"),
        ("A,f,40,37,11.5,29.5,38", "were ankle and calf swapped"),
        ("A,f,225,37,11.5,29.5,38", "girth_cm.ankle: must be 13 to 60 cm; received 225.0: this "
                                    "looks like millimetres"),
        ("A,f,22.5,37,11.5,29.5,28", "position_cm.below_knee must be more than"),
    ],
)  # fmt: skip
def test_a_leg_that_cannot_be_is_kept_with_its_reason(read, line: str, reason: str) -> None:
    cohort = read(HEADER, line, LEG.replace("A", "B"))
    odd, sound = cohort.legs
    assert odd.leg is None
    assert reason in odd.reason
    assert sound.leg is not None


def test_an_impossible_bone_is_a_reason_too(read) -> None:
    odd = read(SURVEY, "f,30,215,227,372,310,182,246,63,437", "f,30,215,227,372,310,182,246,63,99")
    assert "tibia height must be 28 to 68 cm; received 9.9" in odd.legs[1].reason


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([""], "is empty: give a line of column names, then legs"),
        ([HEADER], "holds no leg: give one line for each leg"),
        ([HEADER.replace("calf_girth_cm", "calf"), LEG], "has no column calf_girth_cm: add it"),
        ([HEADER.replace("ankle_height_cm", "height"), LEG],
         "has no column ankle_height_cm or malleolus_height_cm: add it"),
        ([HEADER.replace("calf_height_cm", "x").replace("below_knee_height_cm", "y"), LEG],
         "has no column calf_height_cm or tibial_height_cm: add it\n.*below_knee_height_cm or"),
        ([HEADER.replace("calf_girth_cm", "calf_girth"), LEG],
         "calf_girth: has no unit: name the column calf_girth_cm or calf_girth_mm"),
        ([HEADER + ",calf_girth_mm", LEG + ",370"],
         "calf_girth_mm: means the same as calf_girth_cm: leave one out"),
        ([HEADER, "A,f,225,370,11.5,29.5,38", "B,f,231,381,11.5,29.5,38"],
         "ankle_girth_cm: every value is about ten times too large for cm \\(the first is 225\\): "
         "is it in mm\\? Name the column ankle_girth_mm"),
        ([HEADER.replace("ankle_girth_cm", "ankle_girth_mm"), LEG],
         "every value is about ten times too small for mm \\(the first is 22.5\\): is it in cm\\?"),
        ([HEADER.replace("ankle_girth_cm", "ankle_girth_mm"), LEG.replace("22.5", "2250")],
         "ten times too large \\(the first is 2250\\): measure again or correct the file"),
        ([HEADER, LEG, LEG], "line 3: leg A stands on line 2 already: give each leg its own name"),
        ([HEADER, LEG.replace("A", "")], "line 2: the leg has no name: give it one"),
        ([HEADER, LEG.replace("37", "wide")],
         "line 2, calf_girth_cm: must be a number; received 'wide': correct it"),
        ([HEADER, LEG.replace("37", "nan")], "must be a number; received 'nan'"),
        ([HEADER, LEG.replace("f", "x")], "sex must be f or m, or left empty; received 'x'"),
        ([HEADER, LEG.replace("f", "y" * 99)], "left empty; received '" + "y" * 59 + "…$"),
        ([HEADER, LEG + ",9"], "line 2: holds 8 cells where the header names 7"),
        ([HEADER, LEG.replace("37", '"37')], "is not comma-separated text"),
        ([HEADER, *[LEG.replace("37", "wide")] * 30], "(?s)leg A stands.*and 19 more like these"),
    ],
)  # fmt: skip
def test_refusals(read, lines: list[str], words: str) -> None:
    with pytest.raises(FileError, match=words):
        read(*lines)


def test_a_file_that_cannot_be_read_is_refused(read, tmp_path: Path) -> None:
    with pytest.raises(FileError, match="nowhere.csv: cannot be read .*check the path"):
        read_cohort(tmp_path / "nowhere.csv")
    with pytest.raises(FileError, match="is not a text file in UTF-8"):
        read(HEADER, LEG.replace("A", "Bär"), encoding="latin-1")
