"""Materials and the bandage systems made of them, as a plan is given them.

The shipped list is read outside the core and passed in. A clinic's own list adds systems or takes
shipped ones out by name; every change is kept in words and travels with each plan. What is safe on
a leg is decided elsewhere, from materials and traits: a list can loosen none of it.
"""

from collections.abc import Mapping, Sequence
from typing import Self

from pydantic import model_validator

from gaiter.core.errors import InputError
from gaiter.core.fabric import Catalogue
from gaiter.core.plan.system_checks import faults_of
from gaiter.core.plan.system_list import ListedSystem, SystemList
from gaiter.core.plan.systems import System
from gaiter.core.words import Said


class SystemsError(InputError):
    """A list of systems that cannot be used.

    Attributes
    ----------
    faults : tuple of (str, str)
        Field and sentence of everything that is wrong.

    Examples
    --------
    >>> error = SystemsError([("without", "takes every system out: leave at least one")])
    >>> str(error)
    'without: takes every system out: leave at least one'
    >>> error.faults[0][0]
    'without'
    """

    def __init__(self, faults: Sequence[tuple[str, str]]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(f"{field}: {text}" for field, text in faults))


class BandageCatalogue(Catalogue):
    """Materials, and the bandage systems made of them, with the fingerprints of their files."""

    systems: Mapping[str, ListedSystem]
    systems_sha256: str
    systems_changes: tuple[Said, ...] = ()

    @model_validator(mode="after")
    def _systems_can_be_made(self) -> Self:
        if faults := faults_of(self.systems, self.materials):
            raise SystemsError(faults)
        return self

    def systems_for(self, ankle_girth_cm: float) -> tuple[System, ...]:
        """Every system, its layers chosen for an ankle.

        Parameters
        ----------
        ankle_girth_cm : float
            Smallest girth of the ankle [cm].

        Returns
        -------
        tuple[System, ...]
            In the order of the list.

        Examples
        --------
        >>> from gaiter.files.catalogue_file import shipped_catalogue
        >>> catalogue = shipped_catalogue()
        >>> [one.name for one in catalogue.systems_for(22.5)] == list(catalogue.systems)
        True
        """
        return tuple(one.on_ankle(name, ankle_girth_cm) for name, one in self.systems.items())

    @property
    def titles(self) -> Mapping[str, str]:
        """Titles of the systems by name.

        Returns
        -------
        Mapping[str, str]

        Examples
        --------
        >>> from gaiter.files.catalogue_file import shipped_catalogue
        >>> shipped_catalogue().titles["four_layer"]
        'Four layers'
        """
        return {name: one.title for name, one in self.systems.items()}


def with_systems(catalogue: Catalogue, listed: SystemList, sha256: str) -> BandageCatalogue:
    """Materials together with the systems of a list.

    Parameters
    ----------
    catalogue : Catalogue
        The materials.
    listed : SystemList
        The systems.
    sha256 : str
        Fingerprint of the list's file.

    Returns
    -------
    BandageCatalogue

    Raises
    ------
    SystemsError
        If a system cannot be made of these materials, or claims to be what they are not.

    Examples
    --------
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> from gaiter.files.example_bench import ONE_ELASTIC
    >>> listed = SystemList(
    ...     document="gaiter.systems/1", name="Own", version="1", systems={"own": ONE_ELASTIC}
    ... )
    >>> list(with_systems(shipped_catalogue(), listed, sha256="").systems)
    ['own']
    """
    if faults := faults_of(listed.systems, catalogue.materials):
        raise SystemsError(faults)
    return BandageCatalogue(
        materials=catalogue.materials,
        sha256=catalogue.sha256,
        systems=listed.systems,
        systems_sha256=sha256,
    )


def changed_by(shipped: BandageCatalogue, clinic: SystemList, sha256: str) -> BandageCatalogue:
    """The shipped systems with those of a clinic added, and without those it takes out.

    Parameters
    ----------
    shipped : BandageCatalogue
        What comes with the program.
    clinic : SystemList
        The clinic's own list.
    sha256 : str
        Fingerprint of the clinic's file.

    Returns
    -------
    BandageCatalogue
        ``systems_changes`` names every system added or taken out.

    Raises
    ------
    SystemsError
        With everything that is wrong with the clinic's list.

    Examples
    --------
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> clinic = SystemList(
    ...     document="gaiter.systems/1", name="Heron Ford", version="2", without=("four_layer",)
    ... )
    >>> changed = changed_by(shipped_catalogue(), clinic, sha256="")
    >>> "four_layer" in changed.systems, [one.text for one in changed.systems_changes]
    (False, ['bandage system taken out: Four layers (Heron Ford, version 2)'])
    """
    known = ", ".join(shipped.systems)
    faults = [
        ("without", f"{name} is no shipped system; they are {known}: correct the name")
        for name in clinic.without
        if name not in shipped.systems
    ]
    faults += [
        (
            f"systems.{name}",
            "is the name of a shipped system, and plans are found by it: give yours another "
            "name, and name the shipped one under without to take it out",
        )
        for name in clinic.systems
        if name in shipped.systems
    ]
    kept = {name: one for name, one in shipped.systems.items() if name not in clinic.without}
    systems = {**kept, **clinic.systems}
    if not systems:
        faults.append(("without", "takes every system out: leave at least one, or add one"))
    if faults := [*faults, *faults_of(systems, shipped.materials)]:
        raise SystemsError(faults)
    out = [
        Said(
            "bandage system taken out: {title} ({list})",
            {"title": Said(shipped.systems[name].title), "list": clinic.said},
        )
        for name in clinic.without
    ]
    new = [
        Said(
            "bandage system added: {title}, components from {source} ({list})",
            {"title": one.title, "source": one.source, "list": clinic.said},
        )
        for one in clinic.systems.values()
    ]
    return BandageCatalogue(
        materials=shipped.materials,
        sha256=shipped.sha256,
        systems=systems,
        systems_sha256=sha256,
        systems_changes=(*out, *new),
    )
