"""The ``[report]`` section: who answers for the report, and what others may do with the data."""

from __future__ import annotations

from fiddlehead.project.fields import Section, entry


class ReportSection(Section):
    """Who made the report, and what others may do with the data."""

    author: str = entry("", says="Who answers for the report; printed on it.")
    data_licence: str = entry(
        "",
        words="an SPDX identifier",
        says='Licence of the data package, for instance "CC-BY-4.0"; left empty = all rights '
        "reserved.",
    )
