"""How finely the finger is divided."""

from __future__ import annotations

import dataclasses

from fiddlehead.errors import ParameterError


@dataclasses.dataclass(frozen=True, kw_only=True)
class MeshSettings:
    """Numbers of elements along each kind of edge; the defaults are the standard mesh.

    Element counts per land, valley and flank hold for every bellows.
    """

    columns_root: int = 2
    """Along the root block."""
    columns_land: int = 2
    """Along each bellows' roof and the base under it."""
    columns_valley: int = 1
    """Along each valley and the base under it."""
    columns_tip: int = 2
    """Along the tip block."""
    rows_pad: int = 2
    """Through a plain pad."""
    columns_pad: int = 1
    """Across each rib, half strut and column of a skin of a pad with ribs or cells, and along
    the base over it."""
    rows_skin: int = 1
    """Through the skins of such a pad."""
    rows_strut: int = 2
    """Along each of its ribs and struts."""
    rows_base: int = 1
    """Through the base."""
    rows_channel: int = 1
    """Over the height of the channel."""
    rows_flank: int = 3
    """Along each flank, between its corner blocks at valley and peak."""
    rows_wall: int = 1
    """Through flanks, roofs and valleys: they meet in corner blocks, so they share one number."""
    layers_channel: int = 1
    """From the mid-plane to the side of the channel."""
    layers_chamber: int = 2
    """From there to the side wall. A channel as wide as the chambers gets both numbers of
    layers together."""
    layers_side_wall: int = 1
    """Through the side wall."""

    def __post_init__(self) -> None:
        for field in dataclasses.fields(self):
            value = getattr(self, field.name)
            if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 64:
                raise ParameterError(
                    "an element count must be a whole number",
                    where=f"mesh.{field.name}",
                    found=repr(value),
                    allowed="1 to 64",
                )

    def divisions(self, edge: str) -> int:
        """Elements along a kind of profile edge (the ``edges`` of ``finger.profile.Region``)."""
        if edge == "column":
            return self.columns_pad
        prefix = "columns" if edge in ("root", "land", "valley", "tip") else "rows"
        return int(getattr(self, f"{prefix}_{edge}"))

    def layers(self, narrow_channel: bool) -> tuple[int, ...]:
        """Layers in each interval across the half width, from the mid-plane outwards."""
        inner = (self.layers_channel, self.layers_chamber)
        return (*(inner if narrow_channel else (sum(inner),)), self.layers_side_wall)

    def refined(self, times: int) -> MeshSettings:
        """The same mesh with every element cut into ``times`` along each edge."""
        return MeshSettings(**{k: v * times for k, v in dataclasses.asdict(self).items()})


PRESETS = {
    "draft": MeshSettings(
        columns_root=1,
        columns_land=1,
        columns_tip=1,
        rows_pad=1,
        rows_strut=1,
        rows_flank=1,
        layers_chamber=1,
    ),
    "preview": MeshSettings(
        columns_root=1, columns_land=1, columns_tip=1, rows_pad=1, rows_strut=1, layers_chamber=1
    ),
    "standard": MeshSettings(),
    "fine": MeshSettings().refined(2),
}
"""Named settings: one to compare many designs by, a first look, the default, and one twice as fine
along every edge."""


def mesh_settings(name: str) -> MeshSettings:
    """Settings by name.

    Raises
    ------
    ParameterError : no preset of that name
    """
    if name not in PRESETS:
        raise ParameterError(
            "no such mesh", where="mesh", found=repr(name), allowed=", ".join(PRESETS)
        )
    return PRESETS[name]
