"""The lists of a case's fields follow its record."""

from gaiter.core.case import Case, LegShape, Purpose
from gaiter.files.case_fields import case_tables, materials, required_paths
from gaiter.files.catalogue_file import shipped_catalogue

FIELDS = {field.path: field for table in case_tables() for field in table.fields}


def names_in(model: type, seen: set[type] | None = None) -> set[str]:
    """Every field of a record and of the records in it, walked through the records themselves."""
    seen = set() if seen is None else seen
    if model in seen:
        return set()
    seen.add(model)
    found = set()
    for name, field in model.model_fields.items():
        inner = records_in(field.annotation)
        found |= {field.alias or name} if not inner else set()
        for one in inner:
            found |= names_in(one, seen)
    return found


def records_in(annotation) -> list[type]:
    if hasattr(annotation, "model_fields"):
        return [annotation]
    return [one for part in getattr(annotation, "__args__", ()) for one in records_in(part)]


def test_no_field_of_the_record_is_left_out() -> None:
    assert {path.rsplit(".", 1)[-1] for path in FIELDS} == names_in(Case)


def test_values_and_ranges_are_those_of_the_record() -> None:
    assert FIELDS["legs.right.purpose"].allowed == ", ".join(f'"{one}"' for one in Purpose)
    assert FIELDS["legs.right.findings.shape"].allowed == ", ".join(f'"{s}"' for s in LegShape)
    assert FIELDS["legs.right.girth_cm.ankle"].allowed == "13 to 60 cm"
    assert FIELDS["legs.right.girth_cm.ankle"].about == "Girth at the ankle, the smallest"
    assert FIELDS["person.age_years"].allowed == "a whole number, 0 to 120 years"
    assert FIELDS["calibration.clinic.values"].allowed == "a whole number, 1 to 1000000 values"
    assert FIELDS["person.allergies"].allowed.startswith('a list in [ ] of: "latex", ')
    assert FIELDS["stock.<material>.widths_cm"].about == "Widths in hand"
    assert all(field.allowed for field in FIELDS.values())


def test_required_is_what_a_plan_cannot_do_without() -> None:
    """By the record's own words in docs and refusals, typed here."""
    assert set(required_paths()) == {
        "schema",
        "today",
        "bandager.training",
        "legs.right.purpose",
        *(
            f"legs.right.girth_cm.{at}"
            for at in ("metatarsal_heads", "ankle", "calf", "below_knee")
        ),
        *(f"legs.right.position_cm.{at}" for at in ("ankle", "calf", "below_knee")),
    }


def test_materials_are_those_of_the_catalogue() -> None:
    assert set(materials()) == set(shipped_catalogue().materials)
