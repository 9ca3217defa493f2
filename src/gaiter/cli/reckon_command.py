"""``gaiter reckon``: the closed form on a cylinder, any three of four."""

import json
from typing import Annotated, NoReturn

import typer

from gaiter.cli.output import BAD_INPUT, console, errors, print_json
from gaiter.core.units import (
    CM_PER_INCH,
    LAPLACE_MMHG_CM2_PER_KGF,
    LAPLACE_MMHG_CM2_PER_N,
    LAPLACE_PUBLISHED_MMHG_CM2_PER_KGF,
    cm_from_inch,
    newton_from_kgf,
)


def reckon(
    tension_n: Annotated[float | None, typer.Option(help="Tension of the whole width [N].")] = None,
    tension_kgf: Annotated[
        float | None, typer.Option(help="Tension of the whole width [kgf].")
    ] = None,
    width_cm: Annotated[float, typer.Option(help="Width of the bandage [cm].")] = 10.0,
    girth_cm: Annotated[float | None, typer.Option(help="Girth [cm].")] = None,
    girth_inch: Annotated[float | None, typer.Option(help="Girth [inch].")] = None,
    thicknesses: Annotated[
        float | None, typer.Option(help="Thicknesses on each other (half overlap: 2).")
    ] = None,
    pressure_mmhg: Annotated[float | None, typer.Option(help="Pressure [mmHg].")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print as JSON.")] = False,
) -> None:
    """Pressure of a bandage on a cylinder: give any three of tension, girth, thicknesses and
    pressure, get the fourth.
    """
    tension = _one_unit("tension", tension_n, tension_kgf, newton_from_kgf)
    girth = _one_unit("girth", girth_cm, girth_inch, cm_from_inch)
    given = {
        "tension": tension, "girth": girth, "thicknesses": thicknesses, "pressure": pressure_mmhg
    }  # fmt: skip
    for name, value in {**given, "width": width_cm}.items():
        if value is not None and not 0 < value < 1e6:
            _refuse(f"{name} must be above 0; received {value:g}: correct it")
    missing = [name for name, value in given.items() if value is None]
    if len(missing) != 1:
        _refuse(
            f"give exactly three of tension, girth, thicknesses and pressure; received "
            f"{4 - len(missing)}: "
            + (
                "all four are given, leave one out"
                if not missing
                else f"missing {', '.join(missing)}"
            )
        )
    per_cm = LAPLACE_MMHG_CM2_PER_N / width_cm
    if tension is None:
        assert pressure_mmhg and girth and thicknesses  # exactly one is missing
        tension = pressure_mmhg * girth / (per_cm * thicknesses)
    elif girth is None:
        assert pressure_mmhg and thicknesses  # exactly one is missing
        girth = per_cm * thicknesses * tension / pressure_mmhg
    elif thicknesses is None:
        assert pressure_mmhg  # exactly one is missing
        thicknesses = pressure_mmhg * girth / (per_cm * tension)
    else:
        pressure_mmhg = per_cm * thicknesses * tension / girth
    assert pressure_mmhg and girth and thicknesses  # found above
    result = {
        "tension_n": tension,
        "tension_kgf": tension / newton_from_kgf(1),
        "tension_n_per_cm": tension / width_cm,
        "width_cm": width_cm,
        "girth_cm": girth,
        "girth_inch": girth / CM_PER_INCH,
        "thicknesses": thicknesses,
        "pressure_mmhg": pressure_mmhg,
        "found": missing[0],
        "pressure_with_published_constant_mmhg": pressure_mmhg
        * LAPLACE_PUBLISHED_MMHG_CM2_PER_KGF
        / LAPLACE_MMHG_CM2_PER_KGF,
    }
    if as_json:
        print_json(json.dumps(result, indent=1))
        return
    lines = (
        (
            "tension",
            f"{tension:.3f} N ({tension / newton_from_kgf(1):.3f} kgf) over {width_cm:g} cm",
        ),
        ("girth", f"{girth:.2f} cm ({girth / CM_PER_INCH:.2f} inch)"),
        ("thicknesses", f"{thicknesses:.2f}"),
        (
            "pressure",
            f"{pressure_mmhg:.2f} mmHg (with the rounded constant 4630 in print: "
            f"{result['pressure_with_published_constant_mmhg']:.2f} mmHg)",
        ),
    )
    for name, words in lines:
        mark = "=" if name == missing[0] else " "
        console.print(f"{mark} {name:<12}{words}", markup=False)
    console.print(
        "Mean round a cylinder; on real legs sensors read 20 to 40 % less. Not a plan.",
        markup=False,
    )


def _one_unit(name: str, plain: float | None, other: float | None, convert) -> float | None:  # type: ignore[no-untyped-def]
    if plain is not None and other is not None:
        _refuse(f"{name} is given in two units: leave one out")
    if other is None:
        return plain
    converted: float = convert(other)
    return converted


def _refuse(sentence: str) -> NoReturn:
    errors.print(sentence, markup=False)
    raise typer.Exit(BAD_INPUT)
