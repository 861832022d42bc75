"""Checks array shapes at every call into the package while tests run (see pyproject.toml).

Only annotations that state a shape are checked; wrong values of other types are the business of the
package's own errors. Records of ``mechanics`` are pytrees, which JAX also builds for whole batches
and with placeholders for arrays, so their construction is left alone; its functions are checked.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from beartype import BeartypeConf, beartype

SHAPED = re.compile(r"\b(Float|Int|Bool|Shaped)\[")
_checked = beartype(conf=BeartypeConf(is_pep484_tower=True))


def check(function: Callable[..., Any]) -> Callable[..., Any]:
    """``function``, checked against those of its annotations that state shapes."""
    builds_pytree = function.__module__.startswith("fiddlehead.mechanics")
    if builds_pytree and function.__qualname__.endswith(".__init__"):
        return function
    hints = function.__annotations__
    function.__annotations__ = {name: h for name, h in hints.items() if SHAPED.search(str(h))}
    return _checked(function)
