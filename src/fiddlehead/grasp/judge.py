"""From the steps of a grasp to its record: margins, verdict and reason."""

from __future__ import annotations

from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from jaxtyping import Float

from fiddlehead.grasp import margins
from fiddlehead.grasp.closed_forms import GRAVITY_M_PER_S2
from fiddlehead.grasp.coupling import Balanced, felt_by_all
from fiddlehead.grasp.gripper import MEET
from fiddlehead.grasp.lateral import Firmness, firmness
from fiddlehead.grasp.logbook import Logbook
from fiddlehead.grasp.march import Budget, Marched
from fiddlehead.grasp.patch import rigid_contacts
from fiddlehead.grasp.quality import epsilon, scaled
from fiddlehead.grasp.records import HELD, LOST, GraspRun, Margins, Verdict
from fiddlehead.grasp.skin import skin
from fiddlehead.grasp.task import Task
from fiddlehead.grasp.wrench import Contacts, contacts, primitive_wrenches

NOTHING = Margins(slip=None, damage=None, reach=None, lateral=None)
FEW_POINTS_MM2 = 20.0
"""Area of a finger's contact below which its pressure depends on the mesh."""
CANCELLED = "stopped on request; the finished steps are kept"
SPENT = "the allowed number of corrections was used up; the finished steps are kept"


def does_not_fit(book: Logbook, task: Task, budget: Budget) -> GraspRun:
    """The open fingers do not get over the object."""
    stage = book.stage
    below = jnp.array([0.0, 0.0, -2.0 * stage.gripper.tip_depth_mm(), 0.0, 0.0, 0.0])
    rest = stage.rest()
    outside = rest._replace(stance=rest.stance.moved(below))
    none = jnp.zeros(6)
    still = Balanced(outside, jnp.asarray(True), jnp.asarray(0), none, jnp.zeros((6, 6)))
    book.write("inflate", still, 0.0, np.zeros(6))
    remark = "Enlarge the pitch radius or the splay, or take shorter pads."
    verdict = Verdict(outcome=LOST, reason="does not fit", margins=NOTHING, remarks=(remark,))
    return _record(book, task, budget, verdict)


def not_closed(book: Logbook, task: Task, budget: Budget, closed: Marched) -> GraspRun:
    """The fingers do not close on the object."""
    if closed.why == "end":
        verdict = Verdict(
            outcome=LOST,
            reason="not reached",
            margins=Margins(slip=None, damage=None, reach=0.0, lateral=None),
            remarks=("Raise the pressure within its limit, or lower the pitch radius.",),
        )
        return _record(book, task, budget, verdict)
    partial = _why_partial(budget, closed)
    remark = f"The fingers were followed to {1e3 * book.rows[-1]['pressure']:.0f} kPa."
    verdict = Verdict(outcome=LOST, reason="not computed", margins=NOTHING, remarks=(remark,))
    return _record(book, task, budget, verdict, partial=partial)


def closed(
    book: Logbook,
    task: Task,
    budget: Budget,
    *,
    closed: Marched,
    lifted: Marched,
    shaken: Marched | None,
    pulled: Marched | None,
) -> GraspRun:
    """The fingers closed; what came of it."""
    stage, record = book.stage, book.stage.held.record
    mass = 1e-3 * record.mass_g
    weight = mass * GRAVITY_M_PER_S2
    # an object that was seen to fall has been pulled by its weight
    was_pulled = pulled is None or any(row["phase"] == "pull-off" for row in book.rows)
    straight_down = was_pulled and task.pulls_down
    hanging = lifted.last if lifted.why == "end" else closed.last
    found, normal = rigid(book, hanging)
    carried = _resisted_n(book, hanging, task.pull_direction)
    # where the lift found no way down, the pull may still have passed a balance with the weight
    holds = lifted.why == "end" or (straight_down and lifted.why == "stuck" and carried > weight)
    payload = carried / GRAVITY_M_PER_S2 if straight_down else margins.payload_kg(found, normal)
    firm = firmness(stage, hanging.state, stage.demand(task.pressure_mpa).pressure)
    deflection = _deflection_mm(firm, mass, task.shake_m_per_s2)
    stable = bool(np.linalg.eigvalsh(_scaled(firm.stiffness))[0] > 0.0)
    slip = margins.slip_margin(found, normal, mass, task.shake_m_per_s2)
    if straight_down:
        slip = min(slip, payload / (mass * (1.0 + task.shake_m_per_s2 / GRAVITY_M_PER_S2)))
    before_pull = [k for k, row in enumerate(book.rows) if row["phase"] != "pull-off"]
    pressure = float(book.per_group("p95_mpa")[before_pull].max())
    force = float(book.per_group("normal_n")[before_pull].max())
    damage, nearest = margins.damage_margin(record, pressure, force)
    touch = _touch_mpa(book)
    lateral = _lateral_margin(stage.gripper.finger.length_mm, deflection)
    all_margins = Margins(
        slip=slip, damage=damage, reach=task.pressure_mpa / touch, lateral=lateral
    )
    remarks = []
    if float(book.per_group("area_mm2")[before_pull[-1]].min()) < FEW_POINTS_MM2:
        remarks.append("A finger touches on so little that its pressure depends on the mesh.")
    if _closed_fingers_meet(book):
        remarks.append(MEET)
    if nearest and damage is not None and damage < 1.0:
        remarks.append(f"Passed first: {nearest}.")
    if lateral is not None and lateral < 1.0:
        remarks.append(
            f"Shaking moves a tip out of its plane by {deflection.max():.2g} mm, more than "
            f"{margins.LATERAL_STANDING}."
        )
    partial = (
        ""
        if closed.why == "end"
        else (f"no balance was found beyond {1e3 * task.pressure_mpa:.0f} kPa; judged there")
    )
    for leg in (lifted, shaken, pulled):
        if leg is not None and leg.why == "budget":
            partial = _why_partial(budget, leg)
    outcome, reason = HELD, ""
    if not holds:
        outcome, reason = LOST, "not computed"
        if lifted.why != "budget":
            reason = margins.why_lost(found, normal, margins.loads(mass, 0.0)[0])
            left = lifted.why == "watched" or (pulled is not None and pulled.why != "stuck")
            reason = reason or ("slips" if left else "not computed")
    elif shaken is not None and shaken.why != "end":
        seen = shaken.why == "watched" or (shaken.why == "stuck" and slip < 1.0)
        outcome, reason = LOST, "slips" if seen else "not computed"
        remarks.append("Lost while it was shaken.")
    elif slip < 1.0:
        outcome = LOST
        reason = _why_shaken_off(found, normal, mass, task.shake_m_per_s2)
        remarks.append("Lost while it was shaken, by the balance of its contact forces.")
    elif not stable:
        outcome, reason = LOST, "rolls out"
    elif damage is not None and damage < 1.0:
        reason = "crushed"
    verdict = Verdict(outcome=outcome, reason=reason, margins=all_margins, remarks=tuple(remarks))
    length = stage.held.radius_mm
    sets = scaled(primitive_wrenches(found), length)
    return _record(
        book, task, budget, verdict,
        partial=partial,
        payload_kg=payload,
        pull_off_n=max(carried + weight * float(task.pull_direction[2]), 0.0)
        if was_pulled
        else None,
        firm=firm,
        deflection=deflection,
        epsilon_n=epsilon(sets, normal) if len(sets) else 0.0,
    )  # fmt: skip


def _closed_fingers_meet(book: Logbook) -> bool:
    stage = book.stage
    nodes = np.unique(stage.mesh.faces["underside"])
    moved = stage.mesh.points[nodes] + book.rows[-1]["displacement"][:, nodes]
    points = [
        moved[number] @ stage.gripper.place(group[0])[:, :3].T + stage.gripper.place(group[0])[:, 3]
        for number, group in enumerate(stage.symmetry.groups)
    ]
    return stage.gripper.neighbours_meet(np.stack(points))


def _why_partial(budget: Budget, leg: Marched) -> str:
    if budget.stop is not None and budget.stop():
        return CANCELLED
    if leg.why == "budget":
        return SPENT
    return "no balance was found further on; the finished steps are kept"


def _why_shaken_off(found: Contacts, normal: Any, mass_kg: float, shake: float) -> str:
    reasons = [margins.why_lost(found, normal, load) for load in margins.loads(mass_kg, shake)]
    for reason in ("pushed away", "slips", "rolls out"):
        if reason in reasons:
            return reason
    return "slips"


def rigid(book: Logbook, found: Balanced) -> tuple[Contacts, Float[np.ndarray, " contact"]]:
    """Rigid contacts of all fingers about the object's centre of mass, and their normal forces."""
    stage = book.stage
    felt = jax.device_get(felt_by_all(stage.scene, found.state))
    centre = np.asarray(found.state.stance.position_mm)
    many, forces = [], []
    for number, group in enumerate(stage.symmetry.groups):
        one = jax.tree.map(lambda a, k=number: a[k], felt)
        for finger in group:
            contact, pushed = rigid_contacts(
                one, stage.gripper.place(finger), centre, book.friction, half=stage.symmetry.half
            )
            many.append(contact)
            forces.append(pushed)
    return (
        contacts(
            np.vstack([c.position for c in many]),
            np.vstack([c.normal for c in many]),
            book.friction,
        ),
        np.concatenate(forces),
    )


def _resisted_n(book: Logbook, hanging: Balanced, direction: Float[np.ndarray, "3"]) -> float:
    """Largest resistance of the fingers to the pull, or to the object's fall."""
    pulls = [row["wrench"] for row in book.rows if row["phase"] in ("lift", "pull-off")]
    every = np.array([np.asarray(hanging.wrench), *pulls])[:, :3]
    return max(float((-every @ direction).max()), 0.0)


def _scaled(stiffness: Float[np.ndarray, "6 6"]) -> Float[np.ndarray, "6 6"]:
    by = np.array([1.0] * 3 + [1.0 / 20.0] * 3)
    scaled_by: Float[np.ndarray, "6 6"] = stiffness * by[:, None] * by
    return scaled_by


def _deflection_mm(firm: Firmness, mass_kg: float, shake: float) -> Float[np.ndarray, " finger"]:
    """Out-of-plane motion of each finger's tip under the worst direction of shaking."""
    motion = np.linalg.solve(firm.stiffness, np.eye(6)[:, :3]) * mass_kg * shake
    deflection: Float[np.ndarray, " finger"] = np.linalg.norm(firm.tip_per_motion @ motion, axis=1)
    return deflection


def _lateral_margin(length_mm: float, deflection: Float[np.ndarray, " finger"]) -> float | None:
    worst = float(deflection.max())
    return margins.LATERAL_SHARE * length_mm / worst if worst > 0 else None


def _touch_mpa(book: Logbook) -> float:
    """Pressure of the first step at which every finger touches that does so in the end."""
    end = max(k for k, row in enumerate(book.rows) if row["phase"] == "inflate")
    if not book.touching(end):
        return float("inf")
    pushed = book.per_group("normal_n") > 0
    return float(book.column("pressure")[pushed[:, pushed[end]].all(axis=1)][0])


def _record(
    book: Logbook,
    task: Task,
    budget: Budget,
    verdict: Verdict,
    *,
    partial: str = "",
    payload_kg: float | None = None,
    pull_off_n: float | None = None,
    firm: Firmness | None = None,
    deflection: Float[np.ndarray, " finger"] | None = None,
    epsilon_n: float = 0.0,
) -> GraspRun:
    stage = book.stage
    group = np.zeros(stage.gripper.fingers, dtype=int)
    for number, fingers in enumerate(stage.symmetry.groups):
        group[list(fingers)] = number
    return GraspRun(
        object=stage.held.record,
        directions_deg=stage.gripper.directions_deg,
        group=group,
        half_fingers=stage.symmetry.half,
        phase=tuple(row["phase"] for row in book.rows),
        pressure_mpa=book.column("pressure"),
        load_n=book.column("load"),
        motion=book.column("motion"),
        wrench=book.column("wrench"),
        normal_n=book.per_group("normal_n"),
        tangential_n=book.per_group("tangential_n"),
        contact_area_mm2=book.per_group("area_mm2"),
        peak_mpa=book.per_group("peak_mpa"),
        p95_mpa=book.per_group("p95_mpa"),
        slip_share=book.per_group("slip_share"),
        iterations=book.column("iterations"),
        displacement_mm=book.column("displacement"),
        place=stage.places,
        mesh=stage.mesh,
        centre_mm=stage.held.mass.centre_mm,
        start_position_mm=np.asarray(stage.start.position_mm),
        start_turn=np.asarray(stage.start.turn),
        skin_mm=skin(stage.held),
        touch_pressure_mpa=_touch_mpa(book),
        payload_kg=payload_kg,
        pull_off_n=pull_off_n,
        pull_direction=task.pull_direction,
        stiffness=None if firm is None else firm.stiffness,
        deflection_mm=deflection,
        epsilon_n=epsilon_n,
        length_mm=stage.held.radius_mm,
        verdict=verdict,
        partial=partial,
        solves=budget.spent,
        elapsed_s=book.elapsed_s,
    )
