"""``gaiter reckon``: the closed form on a cylinder, any three of four."""

import math
from collections.abc import Callable
from typing import Annotated

import typer

from gaiter.cli.output import AsJson, console, plain_errors, print_mapping
from gaiter.core.errors import InputError
from gaiter.core.pressure.laplace import cylinder
from gaiter.core.units import (
    CM_PER_INCH,
    LAPLACE_MMHG_CM2_PER_KGF,
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
    as_json: AsJson = False,
) -> None:
    """Reckon on a cylinder: any three of tension, girth, thicknesses, pressure give the fourth."""
    with plain_errors():
        if not 0 < width_cm < math.inf:
            raise InputError(f"width must be above 0 cm; received {width_cm:g}: correct it")
        tension = _one_unit("tension", tension_n, tension_kgf, newton_from_kgf)
        girth = _one_unit("girth", girth_cm, girth_inch, cm_from_inch)
        found = cylinder(
            tension_n_per_cm=None if tension is None else tension / width_cm,
            girth_cm=girth,
            thicknesses=thicknesses,
            pressure_mmhg=pressure_mmhg,
        )
    newtons = found.tension_n_per_cm * width_cm
    kgf = newtons / newton_from_kgf(1)
    inches = found.girth_cm / CM_PER_INCH
    rounded = found.pressure_mmhg * LAPLACE_PUBLISHED_MMHG_CM2_PER_KGF / LAPLACE_MMHG_CM2_PER_KGF
    if as_json:
        result = {
            "tension_n": newtons,
            "tension_kgf": kgf,
            "tension_n_per_cm": found.tension_n_per_cm,
            "width_cm": width_cm,
            "girth_cm": found.girth_cm,
            "girth_inch": inches,
            "thicknesses": found.thicknesses,
            "pressure_mmhg": found.pressure_mmhg,
            "pressure_with_published_constant_mmhg": rounded,
        }
        print_mapping(result)
        return
    for name, words in (
        ("tension", f"{newtons:.3f} N ({kgf:.3f} kgf) over {width_cm:g} cm"),
        ("girth", f"{found.girth_cm:.2f} cm ({inches:.2f} inch)"),
        ("thicknesses", f"{found.thicknesses:.2f}"),
        (
            "pressure",
            f"{found.pressure_mmhg:.2f} mmHg "
            f"(with the rounded constant 4630 in print: {rounded:.2f} mmHg)",
        ),
    ):
        console.print(f"{name:<12}{words}", markup=False)
    console.print(
        "Mean round a cylinder; on real legs sensors read 20 to 40 % less. Not a plan.",
        markup=False,
    )


def _one_unit(
    name: str, plain: float | None, other: float | None, convert: Callable[[float], float]
) -> float | None:
    if plain is not None and other is not None:
        raise InputError(f"{name} is given in two units: leave one out")
    return plain if other is None else convert(other)
