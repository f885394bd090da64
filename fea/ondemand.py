"""Names of a package that are imported when they are first asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def on_demand(package: str, names: Mapping[str, str]) -> Callable[[str], Any]:
    """What a package gives for a name that it does not hold itself: its ``__getattr__``.

    Parameters
    ----------
    package : str
    names : mapping of str to str
        By module of the package, the names that stand in it, with blanks between.

    Raises
    ------
    AttributeError
        From what is given, for any other name.

    Examples
    --------
    >>> on_demand("fea", {"material": "Fatigue Material"})("Material").__module__
    'fea.material'
    """
    home = {name: module for module, held in names.items() for name in held.split()}

    def get(name: str) -> Any:
        if name not in home:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return getattr(import_module(f"{package}.{home[name]}"), name)

    return get
