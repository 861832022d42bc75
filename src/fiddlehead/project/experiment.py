"""From the ``[experiment]`` section to a plan."""

from __future__ import annotations

from collections.abc import Iterator

from fiddlehead.errors import ParameterError
from fiddlehead.fabricate.experiment_factors import FIRST_SIX, chosen_factors
from fiddlehead.fabricate.experiment_plan import ExperimentPlan, make_plan
from fiddlehead.project.experiment_section import ExperimentSection
from fiddlehead.project.findings import Finding, from_error
from fiddlehead.project.validate import Source


def experiment_plan(section: ExperimentSection) -> ExperimentPlan:
    """The plan a project asks for.

    Raises
    ------
    ParameterError : unknown settings, or a design that does not exist for them
    """
    return make_plan(
        chosen_factors(section.factors or FIRST_SIX, section.ranges),
        section.design,
        resolution=section.resolution,
        centre_points=section.centre_points,
        replicates=section.replicates,
        blocks=section.blocks,
        seed=section.seed,
    )


def experiment_mistakes(section: ExperimentSection, source: Source) -> Iterator[Finding]:
    """Why there is no such plan, if there is none.

    The standard experiment exists; it is not drawn up just to be told so, because that loads
    scipy's statistics for every command.
    """
    if section == ExperimentSection():
        return
    try:
        experiment_plan(section)
    except ParameterError as error:
        name = error.where.removeprefix("experiment.")
        known = name in ExperimentSection.model_fields
        path = ("experiment", name) if known else ("experiment", "ranges")
        yield from_error(error, **source.place(path))
