"""Free air, pumps, reservoirs, stored energy, and the whole request."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from fiddlehead.air import cautions
from fiddlehead.air.cavity import Cavity
from fiddlehead.air.energy import stored_energy_mj
from fiddlehead.air.flow import Chain, Restriction
from fiddlehead.air.sizing import AirRequest, size_supply
from fiddlehead.air.supply import Pump, free_air_per_cycle_cm3, pump_for, reservoir_cm3
from fiddlehead.errors import ParameterError

SOFT = Cavity(np.array([0.0, 100.0, 200.0]), np.array([20.0, 23.0, 26.0]))
REQUEST = AirRequest(
    cavity=SOFT,
    fingers=3,
    shared_valve=True,
    working_pressure_kpa=150.0,
    supply_pressure_kpa=200.0,
    fill_chain=Chain((Restriction("valve", 0.3, 0.3), Restriction("tube", 0.4, 0.3))),
    vent_chain=Chain((Restriction("tube", 0.4, 0.3), Restriction("valve", 0.3, 0.3))),
    tube_volume_cm3=5.0,
    cycles_per_min=10.0,
    hold_s=2.0,
    leak_cm3_per_min=1.0,
    reservoir_cycles=5,
    reservoir_drop_kpa=50.0,
)


def test_rigid_free_air() -> None:
    """120 cm³ at 2 bar gauge, 20 cycles a minute: 4.8 L/min at 100 kPa."""
    air = free_air_per_cycle_cm3(Cavity.rigid(120.0), 200.0)
    assert 20.0 * air / 1000.0 == pytest.approx(4.8, rel=1e-12)


def test_soft_free_air_counts_the_growth() -> None:
    by_hand = (301.325 * 26.0 - 101.325 * 20.0) / 100.0
    assert free_air_per_cycle_cm3(SOFT, 200.0) == pytest.approx(by_hand)
    cold = free_air_per_cycle_cm3(SOFT, 200.0, temperature_k=278.15)
    assert cold == pytest.approx(by_hand * 293.15 / 278.15)


@pytest.mark.parametrize(
    ("kpa", "cm3", "joules"),
    [(200.0, 120.0, 24.0), (200.0, 30.0, 6.0), (700.0, 5000.0, 4500.0), (700.0, 24000.0, 21000.0)],
)
def test_stored_energy_by_hand(kpa: float, cm3: float, joules: float) -> None:
    """Hand-calculated, two digits."""
    assert stored_energy_mj(kpa, cm3) / 1e3 == pytest.approx(joules, rel=0.03)


def test_stored_energy_is_the_work_of_expanding() -> None:
    volume = np.geomspace(30.0, 30.0 * (301.325 / 101.325) ** (1 / 1.4), 20001)
    pressure = 301.325 * (30.0 / volume) ** 1.4
    assert stored_energy_mj(200.0, 30.0) == pytest.approx(np.trapezoid(pressure, volume), rel=1e-6)
    assert stored_energy_mj(0.0, 30.0) == 0.0


def test_pump_gives_its_margin_at_the_working_pressure() -> None:
    pump = pump_for(4.0, 150.0, 225.0)
    at_work = pump.flow_cm3_per_s(np.array([150.0, 225.0, 300.0])) * 60 / 1000
    assert at_work == pytest.approx([6.0, 0.0, 0.0])


def test_reservoir_holds_what_the_cycles_take() -> None:
    volume = reservoir_cm3(100.0, 5, 50.0)
    assert volume == pytest.approx(1000.0)
    assert 50.0 * volume / 100.0 == pytest.approx(5 * 100.0)


def test_the_whole_request() -> None:
    found = size_supply(REQUEST)
    fed = SOFT.together(3, 5.0)
    assert found.fingers_per_valve == 3
    assert found.free_air_per_cycle_cm3 == pytest.approx(free_air_per_cycle_cm3(fed, 150.0))
    assert found.mean_flow_l_per_min == pytest.approx(
        (10.0 * found.free_air_per_cycle_cm3 + 3.0) / 1000.0
    )
    assert found.fill.pressure_kpa[-1] == pytest.approx(0.95 * 150.0)
    assert found.vent.pressure_kpa[-1] == pytest.approx(0.05 * 150.0)
    assert found.vent.duration_s > found.fill.duration_s
    assert found.shortest_cycle_s == found.fill.duration_s + 2.0 + found.vent.duration_s
    assert found.fill_path.narrowest == "valve"
    assert found.fill_path.conductance_dm3_per_s_bar < 0.3
    assert found.air_energy_mj == pytest.approx(stored_energy_mj(150.0, 3 * 24.5 + 5.0))
    assert found.reservoir_energy_mj > found.air_energy_mj
    (remark,) = found.remarks
    assert "above the working pressure" in remark
    level = dataclasses.replace(REQUEST, supply_pressure_kpa=150.0)
    assert size_supply(level).remarks == ()


def test_a_valve_for_each_finger_is_quicker_and_takes_more_air() -> None:
    shared = size_supply(REQUEST)
    own = size_supply(dataclasses.replace(REQUEST, shared_valve=False))
    assert own.fill.duration_s < shared.fill.duration_s
    assert own.dead_volume_cm3 == 15.0
    assert own.free_air_per_cycle_cm3 > shared.free_air_per_cycle_cm3


def test_what_does_not_work_out_is_said() -> None:
    hasty = size_supply(dataclasses.replace(REQUEST, cycles_per_min=60.0))
    assert any("too many" in remark for remark in hasty.remarks)
    weak = size_supply(dataclasses.replace(REQUEST, pump=Pump(1.0, 200.0)))
    assert any("falls behind" in remark for remark in weak.remarks)
    assert weak.fill.duration_s > 5.0 * size_supply(REQUEST).fill.duration_s


def test_refusals() -> None:
    with pytest.raises(ParameterError, match="weaker than"):
        size_supply(dataclasses.replace(REQUEST, supply_pressure_kpa=100.0))
    with pytest.raises(ParameterError, match="not known at this pressure"):
        size_supply(
            dataclasses.replace(REQUEST, working_pressure_kpa=250.0, supply_pressure_kpa=400.0)
        )
    with pytest.raises(ParameterError, match="no such pump"):
        Pump(math.nan, 100.0)
    with pytest.raises(ParameterError, match="gives nothing at its highest"):
        pump_for(1.0, 100.0, 100.0)
    with pytest.raises(ParameterError, match="losing pressure"):
        reservoir_cm3(10.0, 5, 0.0)


def test_cautions_name_the_hazards_and_defer_to_local_codes() -> None:
    told = " ".join(cautions.CAUTIONS)
    for word in ("screen", "eye protection", "relief valve", "proof pressure", "reservoir", "skin"):
        assert word in told
    assert "ISO 4414" in told
    assert "certifies nothing" in told
