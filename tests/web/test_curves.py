"""Pages of flow tests and power pulls: curves with their numbers, overlays, common states."""

from __future__ import annotations

import gzip
import json
import re

import pytest
from fastapi.testclient import TestClient

from headwright.quantities import format_value
from headwright.web.charts import CHART_LIBRARY

from .reading import Page, read

TESTS = ("FT-EI03-I2", "FT-EI03-E1", "FT-EI19-I3", "FT-LI02-I2", "FT-LI02-I2-REV")
PULLS = ("PP-2025-10-04", "PP-2026-05-16")


def page_of(client: TestClient, address: str, status: int = 200) -> Page:
    answer = client.get(address)
    assert answer.status_code == status, answer.text
    page = read(answer.text)
    assert page.faults == []
    return page


@pytest.mark.parametrize("tag", TESTS)
@pytest.mark.parametrize("system", ["inch", "metric"])
def test_every_number_of_a_flow_curve_is_in_its_table(
    client: TestClient, tag: str, system: str
) -> None:
    page = page_of(client, f"/flow_tests/{tag}/curve?system={system}")
    data = client.get(f"/api/flow_tests/{tag}/curve").json()
    units = "metric" if system == "metric" else "inch"
    (test,) = data["tests"]
    assert test["flow_test"] == tag
    for row in test["rows"]:
        assert format_value(row["lift_m"], "valve_lift", system=units) in page.words
        assert format_value(row["effective_area_m2"], "port_area", system=units) in page.words
        if row["discharge_coefficient"] is not None:
            assert f"{row['discharge_coefficient']:.3f}" in page.words


def test_flow_curves_carry_their_drawing_and_their_words(client: TestClient) -> None:
    text = client.get("/flow_tests/FT-LI02-I2/curve?beside=FT-EI03-I2").text
    assert text.count('<svg aria-hidden="true"') == 3
    assert text.count('role="img"') == 3
    specs = re.findall(r'data-spec="([^"]*)"', text)
    assert len(specs) == 3
    for spec in specs:
        assert "FT-EI03-I2" in json.dumps(json.loads(spec.replace("&#34;", '"')))
    assert "is highest at" in text


def test_overlay_compares_at_a_common_depression(client: TestClient) -> None:
    data = client.get("/api/flow_tests/FT-LI02-I2/curve?beside=FT-EI03-I2&at=10+inH2O").json()
    first, second = data["tests"]
    assert data["depression_Pa"] == pytest.approx(2490.9, rel=1e-4)
    # One was run at 10 inches, so it stands as read; the other was run at 25.
    assert second["rows"][0]["flow_at_depression_m3_s"] == pytest.approx(
        second["rows"][0]["flow_m3_s"]
    )
    assert first["rows"][0]["flow_at_depression_m3_s"] == pytest.approx(
        first["rows"][0]["flow_m3_s"] * 0.4**0.5
    )
    page = page_of(client, "/flow_tests/FT-LI02-I2/curve?beside=FT-EI03-I2&at=10+inH2O")
    assert re.search(r"cfm, -\d+\.\d %", page.words)


def test_a_guessed_flow_looks_like_one(client: TestClient) -> None:
    page = page_of(client, "/flow_tests/FT-EI19-I3/curve")
    assert "≈ 22.4 cfm" in page.words
    assert "the depression is a guess" in page.words


@pytest.mark.parametrize(
    ("question", "status"),
    [
        ("at=nothing", 422),
        ("at=1+inH2O%3Cscript%3E", 422),
        ("at=0.1+inH2O", 422),
        ("at=" + "9" * 41, 400),
        ("beside=FT-NONE", 404),
        ("beside=" + "&beside=".join(f"T{n}" for n in range(6)), 400),
        ("beside=..%2F..", 400),
        ("other=1", 400),
    ],
)
def test_bad_questions_are_refused(client: TestClient, question: str, status: int) -> None:
    for address in ("/flow_tests/FT-EI03-I2/curve", "/api/flow_tests/FT-EI03-I2/curve"):
        answer = client.get(f"{address}?{question}")
        assert answer.status_code == status
        if answer.headers["content-type"].startswith("text/html"):
            assert "<script>" not in answer.text


def test_unknown_records(client: TestClient) -> None:
    assert client.get("/flow_tests/FT-NONE/curve").status_code == 404
    assert client.get("/power_pulls/PP-NONE/curve").status_code == 404
    assert client.get("/power_pulls/PP-2026-05-16/curve?to=best").status_code == 400


@pytest.mark.parametrize("tag", PULLS)
@pytest.mark.parametrize("standard", ["none", "SAE J1349", "ISO 1585", "DIN 70020", "SAE J607"])
def test_every_number_of_a_pull_is_in_its_table(
    client: TestClient, tag: str, standard: str
) -> None:
    page = page_of(client, f"/power_pulls/{tag}/curve?to={standard}")
    data = client.get(f"/api/power_pulls/{tag}/curve?to={standard}").json()
    (found,) = data["pulls"]
    assert data["standard"] == standard
    for row in found["rows"]:
        assert format_value(row["torque_N_m"], "torque", system="inch") in page.words
        corrected = format_value(row["power_corrected_W"], "power", system="inch")
        assert corrected in page.words
    if found["factor"] != 1.0:
        assert f"times {found['factor']:.4f} to {standard}" in page.words


def test_pulls_lie_over_one_another(client: TestClient) -> None:
    page = page_of(client, f"/power_pulls/{PULLS[0]}/curve?beside={PULLS[1]}")
    assert "do not refer to the same air" in page.words
    page = page_of(client, f"/power_pulls/{PULLS[0]}/curve?beside={PULLS[1]}&to=ISO+1585")
    assert "do not refer to the same air" not in page.words
    assert page.words.count("inside the standard's limits") == 2


def test_records_lead_to_their_curves(client: TestClient) -> None:
    assert 'href="/flow_tests/FT-EI03-I2/curve"' in client.get("/flow_tests/FT-EI03-I2").text
    assert 'href="/power_pulls/PP-2026-05-16/curve"' in (
        client.get("/power_pulls/PP-2026-05-16").text
    )


def test_swapping_units_keeps_what_was_asked(client: TestClient) -> None:
    text = client.get("/flow_tests/FT-LI02-I2/curve?beside=FT-EI03-I2&at=10+inH2O").text
    assert (
        'href="/flow_tests/FT-LI02-I2/curve?system=metric&amp;beside=FT-EI03-I2&amp;at=10+inH2O"'
        in text
    )


def test_the_chart_library_is_packed_kept_for_good_and_only_ours(client: TestClient) -> None:
    answer = client.get(CHART_LIBRARY, headers={"Accept-Encoding": "gzip"})
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/javascript")
    assert "immutable" in answer.headers["cache-control"]
    assert answer.headers["content-encoding"] == "gzip"
    assert len(gzip.compress(answer.content)) < 400_000
    assert "window.vegaEmbed" in answer.text
    again = client.get(CHART_LIBRARY, headers={"If-None-Match": answer.headers["etag"]})
    assert again.status_code == 304
    plain = client.get(CHART_LIBRARY, headers={"Accept-Encoding": "identity"})
    assert plain.content == answer.content
    assert client.get("/charts/other.js").status_code == 404
    assert client.get("/charts/..%2Fstatic%2Fsheet.css").status_code == 404


def test_pages_without_a_chart_do_not_ask_for_the_library(client: TestClient) -> None:
    for address in ("/", "/castings", "/castings/EI-03", "/builds/sprint-1500/rank"):
        text = client.get(address).text
        assert "charts.js" not in text
        assert CHART_LIBRARY not in text
