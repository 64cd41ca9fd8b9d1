"""A cylinder and its pipes at one speed, recorded from the engine model."""

from __future__ import annotations

import itertools
import json
import math
from collections.abc import Iterator

import pytest

from headwright import actions
from headwright.errors import FileFormatError, InputError, QuantityError
from headwright.studies.waves import STEP_DEG, EngineWaves, waves_from_body
from headwright.views.waves import waves_json, waves_view

SPEED = 5000.0 * math.pi / 30.0


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[object]:
    path = tmp_path_factory.mktemp("waves") / "demo-shop.db"
    actions.load_demo(path)
    with actions.open_book(path) as opened:
        yield opened


@pytest.fixture(scope="module")
def waves(book) -> EngineWaves:  # type: ignore[no-untyped-def]
    found = actions.waves_of_build(book, "sprint-2025", SPEED, cylinder=2)
    assert found is not None
    return found


def test_the_record_is_one_cycle_of_the_cylinder(waves: EngineWaves) -> None:
    count = 720 // STEP_DEG + 1
    for series in (waves.angles, waves.pressure, waves.temperature, waves.volume):
        assert len(series) == count
    assert waves.cylinder == "cylinder 2"
    assert waves.angles[0] == 0.0
    assert waves.angles[-1] == pytest.approx(4.0 * math.pi, rel=1e-5)
    peak = max(range(count), key=lambda n: waves.pressure[n])
    assert 0.0 < math.degrees(waves.angles[peak]) < 60.0


@pytest.mark.reference
def test_volume_follows_the_crank(waves: EngineWaves) -> None:
    """The slider-crank's closed form for a centred pin (Heywood, ch. 2).

    Tolerance: the demo's pin sits 0.8 mm off centre and a mark is taken at the step nearest to
    its angle; together they move the volume by up to 0.6 % of what is swept.
    """
    area = math.pi / 4.0 * waves.bore**2
    crank, rod = waves.stroke / 2.0, waves.rod_length
    swept = max(waves.volume) - min(waves.volume)
    assert swept == pytest.approx(area * waves.stroke, rel=2e-3)
    for angle, volume in zip(waves.angles[::15], waves.volume[::15], strict=True):
        way = (
            crank * (1.0 - math.cos(angle))
            + rod
            - math.sqrt(rod**2 - (crank * math.sin(angle)) ** 2)
        )
        assert volume - min(waves.volume) == pytest.approx(area * way, abs=0.008 * swept)


def test_the_paths_lead_from_the_valves_to_the_open_air(waves: EngineWaves) -> None:
    assert waves.intake.ducts == ("intake branch 2", "intake port 1+2", "runner 2", "throttle 2")
    assert waves.exhaust.ducts[0] == "exhaust port 2"
    assert waves.exhaust.ducts[-1] == "tail"
    for path in (waves.intake, waves.exhaust):
        assert list(path.places) == sorted(path.places)
        assert path.places[0] > 0.0
        assert path.places[-1] < path.borders[-1]
        assert len(path.pressure) == len(path.velocity) == len(path.mach) == len(path.places)


def test_gas_goes_the_way_the_engine_breathes(waves: EngineWaves) -> None:
    """Averaged over a cycle, the gas at each valve goes in at the intake and out at the exhaust."""
    for path in (waves.intake, waves.exhaust):
        open_ = [v for v, area in zip(path.velocity[0], path.effective_area, strict=True) if area]
        assert sum(open_) / len(open_) > 10.0
        assert max(path.effective_area) > 0.0
    # A shut valve lets nothing by, so that the gas just behind it hardly moves.
    shut = [
        abs(v)
        for v, area in zip(waves.intake.velocity[0], waves.intake.effective_area, strict=True)
        if not area
    ]
    assert sum(shut) / len(shut) < 0.2 * max(waves.intake.velocity[0])


def test_valves_open_and_close_where_they_pass_gas(waves: EngineWaves) -> None:
    for path in (waves.intake, waves.exhaust):
        for angle, area in zip(waves.angles, path.effective_area, strict=True):
            inside = path.opens < angle < path.closes
            assert (area > 0.0) == inside or min(
                abs(angle - path.opens), abs(angle - path.closes)
            ) < math.radians(STEP_DEG)


def test_waves_are_kept_and_found_again(book, waves: EngineWaves) -> None:  # type: ignore[no-untyped-def]
    assert actions.kept_waves(book, "sprint-2025", SPEED, cylinder=2) == waves
    assert actions.kept_waves(book, "sprint-2025", SPEED, cylinder=3) is None
    assert actions.kept_waves(book, "sprint-2025", 1.01 * SPEED, cylinder=2) is None


def test_round_trip(waves: EngineWaves) -> None:
    assert waves_from_body(json.loads(json.dumps(waves.to_body()))) == waves
    for damaged in (
        {},
        {"build": 1},
        waves.to_body() | {"intake": None},
        waves.to_body() | {"x": 1},
    ):
        with pytest.raises(FileFormatError):
            waves_from_body(damaged)


def test_stopped_gives_nothing_and_keeps_nothing(book) -> None:  # type: ignore[no-untyped-def]
    speed = 1.1 * SPEED
    assert actions.waves_of_build(book, "sprint-2025", speed, cancelled=lambda: True) is None
    assert actions.kept_waves(book, "sprint-2025", speed) is None


def test_no_such_cylinder_or_speed(book) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match="cylinder"):
        actions.waves_of_build(book, "sprint-2025", SPEED, cylinder=5)
    with pytest.raises(QuantityError, match="speed"):
        actions.waves_of_build(book, "sprint-2025", 1.0)


@pytest.mark.parametrize("system", ["inch", "metric"])
def test_the_view_draws_and_tells(waves: EngineWaves, system: str) -> None:
    view = waves_view(waves, "metric" if system == "metric" else "inch")
    names = [figure.name for figure in view.figures]
    assert names == ["cylinder", "ports", "speeds", "mach", "intake-map", "exhaust-map"]
    assert len(view.table.rows) == 720 // 30 + 1
    assert all(len(row) == len(view.table.columns) for row in view.table.rows)
    assert f"{max(waves.pressure) / 1e5:.0f} bar" in view.answer
    moving = view.moving
    count = len(waves.angles)
    assert len(moving["degrees"]) == len(moving["piston"]) == len(moving["pressure"]) == count
    assert moving["piston"][0] == pytest.approx(0.0, abs=1e-6)
    assert max(moving["piston"]) == pytest.approx(1.0, abs=1e-3)
    for side in ("intake", "exhaust"):
        assert max(moving[side]["open"]) == 1.0
    json.dumps(moving, allow_nan=False)


def test_maps_cover_the_cycle_without_gaps(waves: EngineWaves) -> None:
    view = waves_view(waves, "metric")
    spec = view.figures[-1].spec
    rows: dict[float, list[dict[str, float]]] = {}
    for cell in spec["data"]["values"]:
        rows.setdefault(cell["y"], []).append(cell)
    assert len(rows) == len(waves.exhaust.places)
    for cells in rows.values():
        assert cells[0]["x"] == 0.0
        assert cells[-1]["x2"] == pytest.approx(720.0)
        for one, other in itertools.pairwise(cells):
            assert one["x2"] == other["x"]


def test_json_is_si(waves: EngineWaves) -> None:
    body = waves_json(waves)
    assert body["pressure_Pa"] == list(waves.pressure)
    assert body["intake"]["distance_from_valve_m"] == list(waves.intake.places)
    json.dumps(body, allow_nan=False)
