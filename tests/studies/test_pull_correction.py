"""Power pulls brought to a standard's air."""

from __future__ import annotations

import pytest

from headwright.errors import InputError
from headwright.physics.power_correction import STANDARDS
from headwright.physics.weather import moist_air
from headwright.records import PowerPull, read_record
from headwright.studies.pull_correction import standardise_pull

WEATHER = {
    "temperature": "14 °C (measured)",
    "pressure": "1009 mbar (measured)",
    "humidity": "78 % (measured)",
}


def pull(**changes: object) -> PowerPull:
    body = {
        "kind": "power_pull",
        "tag": "PP-1",
        "build": "B-1",
        "weather": WEATHER,
        "rows": [
            {"speed": "6000 rpm (measured)", "power": "100 kW (measured)"},
            {"speed": "4000 rpm (measured)", "torque": "150 N m (measured)"},
        ],
        **changes,
    }
    found = read_record({name: value for name, value in body.items() if value is not None})
    assert isinstance(found, PowerPull)
    return found


@pytest.mark.parametrize("standard", STANDARDS)
def test_figures_as_read_are_multiplied_by_the_days_factor(standard: str) -> None:
    found = standardise_pull(pull(), standard)
    factor = STANDARDS[standard](moist_air(100_900.0, 287.15, 0.78)).factor
    assert found.factor == pytest.approx(factor)
    slow, fast = found.points
    assert slow.torque_corrected == pytest.approx(150.0 * factor)
    assert fast.power_corrected == pytest.approx(100e3 * factor)
    assert fast.torque == pytest.approx(100e3 / (6000.0 * 3.141592653589793 / 30.0))
    assert slow.derived
    assert fast.derived


def test_nothing_asked_leaves_the_figures() -> None:
    found = standardise_pull(pull(correction="DIN 70020"))
    assert found.factor == 1.0
    assert found.points[0].torque_corrected == found.points[0].torque


def test_a_corrected_record_is_first_taken_back() -> None:
    found = standardise_pull(pull(correction="DIN 70020"), "SAE J1349")
    air = moist_air(100_900.0, 287.15, 0.78)
    wanted = STANDARDS["SAE J1349"](air).factor / STANDARDS["DIN 70020"](air).factor
    assert found.factor == pytest.approx(wanted)
    same = standardise_pull(pull(correction="SAE J1349"), "SAE J1349")
    assert same.factor == 1.0


def test_without_weather_nothing_can_be_brought_anywhere() -> None:
    found = standardise_pull(pull(weather=None), "ISO 1585")
    assert found.factor is None
    assert found.points[0].torque_corrected is None
    assert any("no barometer and no air temperature" in note for note in found.notes)
    corrected = standardise_pull(pull(weather=None, correction="DIN 70020"), "ISO 1585")
    assert corrected.factor is None


def test_outside_the_limits_is_said() -> None:
    hills = {**WEATHER, "pressure": "820 mbar (measured)"}
    found = standardise_pull(pull(weather=hills), "SAE J1349")
    assert found.correction is not None
    assert not found.correction.within_limits
    assert any("does not allow" in note for note in found.notes)


def test_missing_humidity_is_said_where_it_matters() -> None:
    dry = {name: text for name, text in WEATHER.items() if name != "humidity"}
    assert any("50 %" in note for note in standardise_pull(pull(weather=dry), "ISO 1585").notes)
    assert standardise_pull(pull(weather=dry), "DIN 70020").notes == ()


def test_at_the_wheels_is_said() -> None:
    assert any("drive" in note for note in standardise_pull(pull(measured_at="wheels")).notes)


def test_no_such_standard() -> None:
    with pytest.raises(InputError, match="standard"):
        standardise_pull(pull(), "best ever")
