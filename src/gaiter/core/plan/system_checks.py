"""Whether listed bandage systems can be made, and are what their traits claim.

Reasons against a system, and whether a person tolerates it, rest on its traits. So the traits that
its materials force on it are demanded here, and those that they cannot have are refused.
"""

import re
from collections.abc import Iterator, Mapping, Sequence

from gaiter.core.fabric import Material
from gaiter.core.plan.system_list import ListedLayer, ListedSystem
from gaiter.core.plan.systems import Trait

_NAME = re.compile(r"[a-z][a-z0-9_]{1,59}")
# Light: up to 20 mmHg at rest on the reference ankle (BS 7505 type 3a). Support: cotton crepe
# keeps 8 to 10 mmHg at the calf (test laboratory data card; BS 7505 type 2).
_LIGHT_TO_MMHG, _SUPPORT_TO_MMHG = 20.0, 10.0
# A four-layer bandage is what trials call many layers; fewer may be as bulky, and may say so.
_MANY = 4

Fault = tuple[str, str]


def faults_of(
    systems: Mapping[str, ListedSystem], materials: Mapping[str, Material]
) -> tuple[Fault, ...]:
    """Everything that is wrong with listed systems, as field and sentence.

    Parameters
    ----------
    systems : Mapping[str, ListedSystem]
        By name.
    materials : Mapping[str, Material]
        The catalogue, by name.

    Returns
    -------
    tuple of (str, str)
        Empty where every system can be made and is what it claims.

    References
    ----------
    Up to which class pressure a system may call itself light or support: BS 7505, types 3a and 2.

    Examples
    --------
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> from gaiter.files.example_bench import ONE_ELASTIC
    >>> faults_of({"own": ONE_ELASTIC}, shipped_catalogue().materials)
    ()
    >>> mild = ONE_ELASTIC.model_copy(update={"traits": (Trait.ELASTIC, Trait.LIGHT)})
    >>> (field, text), = faults_of({"own": mild}, shipped_catalogue().materials)
    >>> text
    'cannot hold light, for long_stretch_elastic gives more than 20 mmHg: take it out'
    """
    found: list[Fault] = []
    titles: dict[str, str] = {}
    for name, system in systems.items():
        field = f"systems.{name}"
        if not _NAME.fullmatch(name):
            found.append((field, "a name is made of small letters, digits and _: change it"))
        other = titles.setdefault(system.title.casefold(), name)
        if other != name:
            found.append((f"{field}.title", f"is the title of {other} as well: change one of them"))
        layers = list(_layer_faults(field, system.layers, materials))
        # What presses is only known where every layer is.
        found += layers or [*_build_faults(field, system, materials)]
        found += () if layers else _trait_faults(f"{field}.traits", system, materials)
    return tuple(found)


def _layer_faults(
    field: str, layers: Sequence[ListedLayer], materials: Mapping[str, Material]
) -> Iterator[Fault]:
    for number, layer in enumerate(layers):
        at = f"{field}.layers.{number}"
        material = materials.get(layer.material)
        if material is None:
            yield (
                f"{at}.material",
                f"{layer.material} is not in the catalogue; it has {', '.join(materials)}: correct "
                f"the name",
            )
            continue
        if material.kind == "tube":
            yield (
                f"{at}.material",
                f"{layer.material} is pulled on, not laid in turns: take a bandage",
            )
            continue
        if layer.only_holds and not _is_support(material):
            yield (
                f"{at}.only_holds",
                f"is for a support bandage of at most {_SUPPORT_TO_MMHG:g} mmHg, which only holds "
                f"the wool; {layer.material} is none: leave it out",
            )
        least, largest = material.least_stretch, material.largest_stretch
        if layer.largest_stretch is None:
            continue
        if not material.stretches or layer.only_holds:
            yield (
                f"{at}.largest_stretch",
                "is said of a layer that is stretched to press; this one is not: leave it out",
            )
        elif not least <= layer.largest_stretch <= largest:
            yield (
                f"{at}.largest_stretch",
                f"must be {least:g} to {largest:g}, as {layer.material} allows; received "
                f"{layer.largest_stretch:g}: a system may lower it, never raise it",
            )


def _build_faults(
    field: str, system: ListedSystem, materials: Mapping[str, Material]
) -> Iterator[Fault]:
    at, one_of_many = f"{field}.layers", len(system.builds()) > 1
    where = " on some ankle girths" if one_of_many else ""
    for build in system.builds():
        names = [layer.material for layer in build]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            yield (
                at,
                f"hold {', '.join(twice)} more than once{where}; marks and readings know a layer "
                f"by its material: use each once",
            )
            return
        if not any(_is_stretched(layer, materials) for layer in build):
            yield at, f"hold nothing that is stretched to press{where}: add a bandage"
            return
        for number, layer in enumerate(build):
            over = build[number + 1 :]
            if layer.only_holds and not any(_is_stretched(one, materials) for one in over):
                yield (
                    at,
                    f"{layer.material} only holds and has nothing stretched over it{where}: lay "
                    f"what presses over it",
                )
                return


def _is_support(material: Material) -> bool:
    """Whether it is of a class that gives support only."""
    return material.stretches and not _gives_more(material, _SUPPORT_TO_MMHG)


def _gives_more(material: Material, limit_mmhg: float) -> bool:
    return material.class_mmhg is not None and material.class_mmhg > limit_mmhg


def _is_stretched(layer: ListedLayer, materials: Mapping[str, Material]) -> bool:
    return materials[layer.material].stretches and not layer.only_holds


def _trait_faults(
    field: str, system: ListedSystem, materials: Mapping[str, Material]
) -> Iterator[Fault]:
    traits = set(system.traits)
    used = {layer.material: materials[layer.material] for layer in system.layers}
    pressing = {
        layer.material: materials[layer.material]
        for layer in system.layers
        if materials[layer.material].presses and not layer.only_holds
    }

    def of_kind(*kinds: str) -> list[str]:
        return [key for key, material in pressing.items() if material.kind in kinds]

    def above(mmhg: float) -> list[str]:
        return [key for key, material in pressing.items() if _gives_more(material, mmhg)]

    elastic, inelastic, paste = of_kind("elastic"), of_kind("inelastic", "rigid"), of_kind("rigid")
    cohesive = [key for key, material in used.items() if material.cohesive]
    longest = max(([layer.material for layer in build] for build in system.builds()), key=len)
    # One elastic cover over paste, or a support bandage, is not called elastic in the clinic.
    called_otherwise = Trait.SUPPORT in traits or (Trait.PASTE in traits and len(elastic) == 1)
    needed = {
        Trait.COHESIVE: cohesive,
        Trait.PASTE: paste,
        Trait.INELASTIC: inelastic,
        Trait.ELASTIC: [] if called_otherwise else elastic,
        Trait.MANY_LAYERS: longest if len(longest) >= _MANY else [],
        Trait.SUPPORT: [] if above(_SUPPORT_TO_MMHG) else list(pressing),
    }
    for trait, because in needed.items():
        if because and trait not in traits:
            yield field, f"must hold {trait}, for it is made of {', '.join(because)}: add it"
    reduced = any(layer.largest_stretch is not None for layer in system.layers)
    refused = {
        Trait.COHESIVE: "" if cohesive else "no layer is cohesive",
        Trait.PASTE: "" if paste else "no layer is zinc paste",
        Trait.INELASTIC: "" if inelastic else "no layer that presses is inelastic",
        Trait.ELASTIC: "" if elastic else "no layer that presses is elastic",
        Trait.LIGHT: _too_strong(above(_LIGHT_TO_MMHG), _LIGHT_TO_MMHG),
        Trait.SUPPORT: _too_strong(above(_SUPPORT_TO_MMHG), _SUPPORT_TO_MMHG),
        Trait.REDUCED: "" if reduced else "no layer has a largest_stretch of its own",
    }
    for trait, why in refused.items():
        if why and trait in traits:
            yield field, f"cannot hold {trait}, for {why}: take it out"


def _too_strong(names: Sequence[str], limit_mmhg: float) -> str:
    return f"{', '.join(names)} gives more than {limit_mmhg:g} mmHg" if names else ""
