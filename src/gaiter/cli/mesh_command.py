"""``gaiter mesh``: a measured leg, and the strips on it, as a surface for other programs."""

from collections.abc import Iterable, Mapping
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gaiter.cli.output import (
    BAD_INPUT,
    AsJson,
    complain,
    console,
    decided,
    note_written,
    plain_errors,
    print_mapping,
    require_one_standard_input,
)
from gaiter.core.errors import InputError
from gaiter.core.landmark import Side

if TYPE_CHECKING:
    from gaiter.core.case import Case
    from gaiter.core.draw.mesh import Mesh
    from gaiter.core.plan import Plan

_UNIT = "cm"
# The library's axes. With medial as the second axis of either leg, a left leg would be written as
# the right leg that is its mirror image, since every program takes axes to be right-handed.
_AXES = "forward, to the person's left, up; origin on the floor under the back of the heel"


class _Kind(StrEnum):
    """Endings of the files that can be written."""

    STL = ".stl"
    PLY = ".ply"
    OBJ = ".obj"


def mesh(
    case: Annotated[
        Path,
        typer.Argument(metavar="CASE", help="Case, TOML or JSON; - is standard input."),
    ],
    out: Annotated[
        Path, typer.Option("--out", "-o", help="File to write; its ending is .stl, .ply or .obj.")
    ],
    leg: Annotated[
        Side | None, typer.Option("--leg", help="Which leg, where the case has two.")
    ] = None,
    strips: Annotated[
        bool,
        typer.Option(
            "--strips",
            help="Plan the case and add the strips of the recommended system: further objects of "
            "an .obj, else a file a layer, named as the leg's with the layer's number.",
        ),
    ] = False,
    closed: Annotated[
        bool, typer.Option("--closed", help="Close the leg with a flat cap at both ends.")
    ] = False,
    policy: Annotated[
        Path | None,
        typer.Option(help="The clinic's own policy, laid over the shipped one; for --strips."),
    ] = None,
    systems: Annotated[
        Path | None,
        typer.Option(help="The clinic's own bandage systems beside the shipped; for --strips."),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace files that exist.")] = False,
    as_json: AsJson = False,
) -> None:
    """Write the surface of a leg, bare skin, for 3-D programs.

    In cm. Axes: forward, to the person's left (medial of a right leg), up; the origin lies on the
    floor under the back of the heel. With --strips exit code 3 or 4 where the leg may not be
    bandaged.
    """
    with plain_errors():
        kind = _kind_of(out)
        _require_free([out], force)
        require_one_standard_input([case, policy, systems])
        from gaiter.files.case_file import read_case

        read = read_case(case)
        side = _side_of(read, leg)
        meshes = {0: _skin(read, side, closed)}
        if strips:
            meshes |= _strips(_planned(read, policy, systems), side)
        places = _places(out, meshes, in_one=kind is _Kind.OBJ)
        _require_free(places.values(), force)
        _write(places, meshes, kind)
    if as_json:
        print_mapping(_result(places, meshes))
    else:
        for number, one in meshes.items():
            console.print(f"{one.title}: {places[number]}", markup=False)


def _kind_of(out: Path) -> _Kind:
    try:
        return _Kind(out.suffix.lower())
    except ValueError:
        raise InputError(
            f"--out must end in .stl, .ply or .obj; received {out}: give the file such an ending"
        ) from None


def _side_of(case: "Case", wanted: Side | None) -> Side:
    """The leg to draw.

    Raises
    ------
    InputError
        If the case has two and none is named, or not the one that is.
    """
    present = list(case.legs)
    if wanted is None and len(present) > 1:
        raise InputError("the case has two legs: choose one by --leg right or --leg left")
    if wanted is not None and wanted not in present:
        raise InputError(
            f"the case has no {wanted.value} leg: give --leg {present[0].value}, or leave it out"
        )
    return wanted or present[0]


def _skin(case: "Case", side: Side, closed: bool) -> "Mesh":
    from gaiter.core.draw.mesh import leg_mesh
    from gaiter.core.leg.build import leg_surface
    from gaiter.core.leg.completion import complete_measurements

    completed = complete_measurements(case.legs[side], case.person.sex)
    return leg_mesh(leg_surface(completed.measurements), side, closed=closed)


def _planned(case: "Case", policy: Path | None, systems: Path | None) -> "Plan":
    from gaiter.core.plan import plan as make_plan
    from gaiter.files.catalogue_file import shipped_catalogue
    from gaiter.files.policy_file import read_policy, shipped_policy
    from gaiter.files.systems_file import read_systems

    rules = read_policy(policy) if policy else shipped_policy()
    catalogue = shipped_catalogue()
    return make_plan(case, rules, read_systems(systems, catalogue) if systems else catalogue)


def _strips(plan: "Plan", side: Side) -> Mapping[int, "Mesh"]:
    """Strips of the recommended system by number of their layer.

    Raises
    ------
    typer.Exit
        If the leg has no bandage, with the exit code of its decision.
    """
    from gaiter.api import PlannedLeg
    from gaiter.core.plan import Status

    document = plan.legs[side]
    if document.status is Status.PLANNED:
        return PlannedLeg(document, plan).strip_meshes()
    complain(
        InputError(
            f"the {side.value} leg has no bandage, because it is {document.status.value} "
            f"({document.status_reason}): leave --strips out to write the leg alone"
        )
    )
    raise typer.Exit(decided([document.decision.outcome]) or BAD_INPUT)


def _places(out: Path, meshes: Mapping[int, "Mesh"], *, in_one: bool) -> dict[int, Path]:
    """File of each mesh; layers beside the leg's where a file holds one mesh."""
    return {
        number: out if in_one or not number else out.with_stem(f"{out.stem}-layer-{number}")
        for number in meshes
    }


def _require_free(places: Iterable[Path], force: bool) -> None:
    """Before the first file is written, so that a refusal leaves none behind."""
    for path in places:
        if path.exists() and not force:
            raise InputError(f"{path}: exists already: choose another name, or give --force")


def _write(places: Mapping[int, Path], meshes: Mapping[int, "Mesh"], kind: _Kind) -> None:
    from gaiter.core.draw.mesh import obj
    from gaiter.files.whole_file import write_whole

    if kind is _Kind.OBJ:
        write_whole(places[0], obj(list(meshes.values()), _UNIT))
        note_written(places[0])
        return
    for number, one in meshes.items():
        content = one.ply(_UNIT) if kind is _Kind.PLY else one.stl(_UNIT)
        write_whole(places[number], content)
        note_written(places[number])


def _result(places: Mapping[int, Path], meshes: Mapping[int, "Mesh"]) -> dict[str, Any]:
    surfaces = [
        {
            "title": one.title,
            "layer": number or None,
            "file": str(places[number]),
            "points": len(one.points_cm),
            "triangles": len(one.triangles),
            "area_cm2": one.area_cm2,
        }
        for number, one in meshes.items()
    ]
    return {"unit": _UNIT, "axes": _AXES, "surfaces": surfaces}
