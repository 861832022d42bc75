"""Where a design is possible but unwise, in plain words.

Every rule is common practice or our own judgement and says so: none is a published limit.
"""

from __future__ import annotations

from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.finger.rules.base import DesignWarning
from fiddlehead.finger.rules.pad import PAD_RULES
from fiddlehead.finger.rules.printing import PRINTING_RULES
from fiddlehead.finger.rules.proportions import PROPORTION_RULES

RULES = (*PRINTING_RULES, *PROPORTION_RULES, *PAD_RULES)
"""All rules, in the order a user should read them."""


def design_warnings(
    parameters: FingerParameters, print_settings: PrintSettings | None = None
) -> list[DesignWarning]:
    """Everything unwise about a finger and the way it is printed (default settings when None).

    Works on fingers that ``FingerParameters.problems`` refuses too, as long as their values are
    positive numbers, so that a user sees everything at once.
    """
    settings = print_settings or PrintSettings()
    return [warning for rule in RULES for warning in rule(parameters, settings)]
