"""Plans, guides, checks and follows compression bandaging of the lower leg.

>>> import gaiter
>>> gaiter.plan("examples/inner-ankle-ulcer.toml").legs["right"].status.value
'planned'
"""

# Names are loaded when they are first used: the numerical libraries take longer to load than most
# commands to run. Types stand in __init__.pyi.

__all__ = [
    "AppliedBandage",
    "InputError",
    "PlannedCase",
    "PlannedLeg",
    "PressureMap",
    "__version__",
    "applied",
    "copy_examples",
    "plan",
    "safety",
    "study",
]


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module 'gaiter' has no attribute {name!r}")
    value = _version() if name == "__version__" else _of_the_library(name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})


def _of_the_library(name: str) -> object:
    from importlib import import_module  # noqa: PLC0415 - see above

    return getattr(import_module("gaiter.api"), name)


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version  # noqa: PLC0415 - see above

    try:
        return version("gaiter")
    except PackageNotFoundError:  # run from its source, never installed
        return "0+unknown"
