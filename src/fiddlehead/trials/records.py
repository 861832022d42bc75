"""What a trial found: plain arrays that can be saved, reloaded and drawn without a solver."""

from __future__ import annotations

import dataclasses

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.mesh.records import Mesh


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class StrainPeaks:
    """Logarithmic strains of the printed material at each pressure step.

    ``in_plane`` is the largest principal strain within the printed layers, ``across_layers`` the
    largest strain along the build direction, which pulls on the bonds between layers.
    """

    peak: Float[np.ndarray, " step"]
    """Largest principal strain anywhere; a point value, so it depends on the mesh."""
    p95: Float[np.ndarray, " step"]
    """Principal strain that 95 % of the material's volume stays below; robust to the mesh."""
    place_mm: Float[np.ndarray, "step 3"]
    """Where the peak is, undeformed coordinates."""
    region: tuple[str, ...]
    """The same in words."""
    in_plane: Float[np.ndarray, " step"]
    across_layers: Float[np.ndarray, " step"]
    across_layers_region: tuple[str, ...]
    smallest: Float[np.ndarray, " step"]
    """Most compressed principal strain."""


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class RunHistory:
    """How the numbers were reached."""

    outcome: str
    """``complete``, or what stopped the path."""
    reason: str
    """The same in plain words with the next move; empty when complete."""
    pressure_reached_mpa: float
    """Highest pressure at which a balance was found."""
    solves: int
    solves_at_step: Int[np.ndarray, " step"]
    """Linear solves used up to each pressure step."""
    cuts: int
    """Steps that had to be tried again smaller."""
    tolerance: float
    """Largest out-of-balance force relative to all internal forces."""
    elapsed_s: float
    """Wall time of the whole batch the finger was solved in."""
    batch: int
    """Fingers in that batch."""
    unknowns: int

    @property
    def complete(self) -> bool:
        """Whether all requested pressures were met."""
        return self.outcome == "complete"


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class BendResult:
    """Free bending under rising gauge pressure. Volumes, forces and energy are of the full finger.

    Angles are positive towards the gripping side (-y). ``tip_angle_deg`` turns the tip face
    against the root face; ``chord_angle_deg`` lies between the root's axis and the line from the
    root to the tip point. Steps that were not met are left out, so curves may be shorter than
    asked when ``history.outcome`` is not ``complete``.
    """

    pressure_mpa: Float[np.ndarray, " step"]
    tip_angle_deg: Float[np.ndarray, " step"]
    chord_angle_deg: Float[np.ndarray, " step"]
    tip_path_mm: Float[np.ndarray, "step 2"]
    """x and y of the end of the base's inner face at mid-width."""
    cavity_volume_mm3: Float[np.ndarray, " step"]
    strain_energy_mj: Float[np.ndarray, " step"]
    smallest_gap_mm: Float[np.ndarray, " step"]
    """Smallest distance between neighbouring bellows; negative is overlap, infinite without any."""
    strain: StrainPeaks
    displacement_mm: Float[np.ndarray, "step node 3"]
    node_strain: Float[np.ndarray, "step node"]
    """Largest principal logarithmic strain, averaged to the nodes."""
    mesh: Mesh
    touch_pressure_mpa: float | None = None
    """Pressure at which neighbouring bellows first touch; None when they stay apart."""
    history: RunHistory


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class BlockResult:
    """Force of the tip on something that does not give, under rising gauge pressure.

    With ``tip_hold`` = ``plate`` the tip presses on a smooth flat plate and may slide and turn;
    with ``held`` the end face cannot move across the finger's axis (a guided rig, which reads
    higher).
    """

    tip_hold: str
    preset_angle_deg: float
    """Tip angle that was asked for before the tip met the plate."""
    touch_angle_deg: float
    """Tip angle at which it really met the plate."""
    touch_pressure_mpa: float
    """Pressure at that moment: the force starts from here."""
    pressure_mpa: Float[np.ndarray, " step"]
    force_n: Float[np.ndarray, " step"]
    """Force along the plate's normal, full finger."""
    contact_distance_mm: Float[np.ndarray, " step"]
    """Distance from the root face (x = 0) to the centre of the force, along the undeformed axis."""
    plate_depth_mm: Float[np.ndarray, " step"]
    """How deep the tip sinks into the numerical plate: an error bound, not a measurement."""
    hand_bound_n: Float[np.ndarray, " step"]
    """``p A e / L``: pressure on the chamber's section times its distance from the base, over
    the distance from the end of the root block to the contact (common practice, no source)."""
    explanation: str
    """Why the force exceeds the hand bound by more than 20 %, if it does."""
    strain: StrainPeaks
    displacement_mm: Float[np.ndarray, "step node 3"]
    node_strain: Float[np.ndarray, "step node"]
    mesh: Mesh
    history: RunHistory


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class BendSensitivity:
    """Free bending with its derivatives; units are in the names of results and parameters.

    ``derivative[s, r, p]`` is how much ``results[r]`` changes at step s for each unit that
    ``parameters[p]`` grows, all others kept. The angle is not continued beyond 180 degrees.
    """

    pressure_mpa: Float[np.ndarray, " step"]
    results: tuple[str, ...]
    parameters: tuple[str, ...]
    value: Float[np.ndarray, "step result"]
    derivative: Float[np.ndarray, "step result parameter"]
    history: RunHistory

    def of(self, result: str, parameter: str) -> Float[np.ndarray, " step"]:
        """One derivative over the steps."""
        return self.derivative[:, self.results.index(result), self.parameters.index(parameter)]


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class LateralResult:
    """What holds the tip of a free, inflated finger against a push across its plane of symmetry.

    A small dead force is spread evenly over the tip face, square to the plane of symmetry; the
    deflection is the mean over that face. Both stay small: the stiffness is that of the balanced
    state, of the full finger.
    """

    pressure_mpa: Float[np.ndarray, " step"]
    tip_angle_deg: Float[np.ndarray, " step"]
    """How far the finger is bent there."""
    stiffness_n_per_mm: Float[np.ndarray, " step"]
    """Lateral (out-of-plane) stiffness; without meaning where the balance is unstable."""
    twist_deg_per_n: Float[np.ndarray, " step"]
    """Rotation of the tip face about the finger's axis there, under the same force."""
    stability: Float[np.ndarray, " step"]
    """Lowest sideways eigenvalue (natural frequency squared) over that at rest: 0 is lateral
    buckling."""
    unstable_shapes: Int[np.ndarray, " step"]
    """Independent sideways shapes into which the finger would fall by itself."""
    buckling_pressure_mpa: float | None
    """Where ``stability`` comes to zero: between two steps, or carried on from the last ones; None
    when that is not in sight."""
    warning: str
    """What to mind when lateral buckling is near or passed; empty when it is far."""
    margin_standing: str
    """What the margin rests on that counts as near."""
    weakest_mm: Float[np.ndarray, "step node 3"]
    """The sideways shape of the lowest eigenvalue, largest displacement 1 mm."""
    displacement_mm: Float[np.ndarray, "step node 3"]
    mesh: Mesh
    history: RunHistory


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class PressResult:
    """A finger that presses on an object that does not move, under rising gauge pressure.

    Forces and areas are of the full finger. Contact pressures are force over deformed area at the
    mesh's integration points; statistics are over the area that carries ``threshold_mpa`` or more.
    The peak is a point value and depends on the mesh; the 95th percentile hardly does.
    """

    object_name: str
    friction_coefficient: float
    touch_at_mm: float
    """Where along the straight finger the object stands nearest."""
    threshold_mpa: float
    pressure_mpa: Float[np.ndarray, " step"]
    grip_force_n: Float[np.ndarray, " step"]
    """Size of the force on the object."""
    force_n: Float[np.ndarray, "step 2"]
    """Its components along x and y."""
    normal_force_n: Float[np.ndarray, " step"]
    """Contact pressure over the whole contact area."""
    tangential_force_n: Float[np.ndarray, " step"]
    """Size of the friction traction over the whole contact area."""
    peak_mpa: Float[np.ndarray, " step"]
    p95_mpa: Float[np.ndarray, " step"]
    mean_mpa: Float[np.ndarray, " step"]
    contact_area_mm2: Float[np.ndarray, " step"]
    area_ratio: Float[np.ndarray, " step"]
    """Conformability: contact area over the area of the object that the straight finger
    overlooks."""
    perimeter_fraction: Float[np.ndarray, " step"]
    """Conformability: angle between the outermost contact normals in the mid-plane over 360
    degrees."""
    rms_gap_mm: Float[np.ndarray, " step"]
    """Conformability: root mean square distance between gripping face and object, from the first
    to the last place along the finger that touches, over the whole width."""
    pressure_uniformity: Float[np.ndarray, " step"]
    """Conformability: 95th percentile over mean; 1 is even."""
    pad_closure: Float[np.ndarray, " step"]
    """Largest share of the pad's depth that is squeezed away; 0 for a bare finger."""
    smallest_void_mm: Float[np.ndarray, " step"]
    """Smallest distance of facing walls (bellows, ribs, cells), infinite without any."""
    points_touching: Int[np.ndarray, " step"]
    """Integration points above the threshold: a few say little about the peak."""
    point_pressure_mpa: Float[np.ndarray, "step point"]
    point_area_mm2: Float[np.ndarray, "step point"]
    """Deformed, of the modelled half."""
    contact_node_mpa: Float[np.ndarray, "step node"]
    """Contact pressure averaged to the nodes, for pictures."""
    profile_mm: Float[np.ndarray, "place 2"]
    """Outline of the object in the mid-plane, as the finger sees it."""
    strain: StrainPeaks
    displacement_mm: Float[np.ndarray, "step node 3"]
    node_strain: Float[np.ndarray, "step node"]
    mesh: Mesh
    history: RunHistory


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class SqueezeResult:
    """A pad closed between its finger, which is held, and a smooth flat plate."""

    closure: Float[np.ndarray, " step"]
    """Way of the plate over the pad's depth."""
    force_n: Float[np.ndarray, " step"]
    """Of the full finger."""
    smallest_void_mm: Float[np.ndarray, " step"]
    """Smallest distance of facing ribs and cell walls; they overlap by micrometres where they
    push. Infinite for a pad without openings."""
    displacement_mm: Float[np.ndarray, "step node 3"]
    mesh: Mesh
    history: RunHistory
    """Its pressure means nothing here."""
