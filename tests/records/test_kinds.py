"""Every kind of record: what goes in comes back, and nothing bad gets through or gets out."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from typing import Any, get_args

import pytest
import tomli_w
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from headwright.errors import InputError, RecordError
from headwright.quantities import GLOSSARY, Quantity
from headwright.records import KINDS, Record, kind_named, read_record
from headwright.records.measured import In
from headwright.records.series import InSeries

from .strategies import bodies, figure_paths

# Drawing a whole casting takes long: few examples of each kind, many over all kinds.
_SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example]
FEW = settings(max_examples=25, deadline=None, suppress_health_check=_SLOW)
SOME = settings(max_examples=60, deadline=None, suppress_health_check=_SLOW)
MANY = settings(max_examples=300, deadline=None, suppress_health_check=_SLOW)

every_kind = pytest.mark.parametrize("kind", KINDS)


def models_inside(model: type[BaseModel]) -> Iterator[type[BaseModel]]:
    """Yield a model and the models in its fields."""
    yield model
    for field in model.model_fields.values():
        pending = [field.annotation]
        while pending:
            annotation = pending.pop()
            if isinstance(annotation, type) and issubclass(annotation, BaseModel):
                yield from models_inside(annotation)
            pending.extend(get_args(annotation))


def places(body: Any) -> Iterator[tuple[Any, Any]]:
    """Yield ``(holder, key)`` of every place inside plain data."""
    entries: Any = ()
    if isinstance(body, dict):
        entries = body.items()
    elif isinstance(body, list):
        entries = enumerate(body)
    for key, inner in list(entries):
        yield body, key
        yield from places(inner)


@pytest.mark.prop
class TestRoundTrips:
    @every_kind
    def test_partly_filled(self, kind: str) -> None:
        @FEW
        @given(bodies(kind))
        def check(body: dict[str, Any]) -> None:
            record = read_record(body)
            assert record.kind == kind
            stored = record.to_body()
            assert read_record(stored) == record
            assert read_record(json.loads(json.dumps(stored, allow_nan=False))) == record
            assert read_record(tomllib.loads(tomli_w.dumps(stored))) == record
            assert read_record(stored).to_body() == stored

        check()

    @every_kind
    def test_every_field_filled(self, kind: str) -> None:
        @settings(FEW, max_examples=8)
        @given(bodies(kind, full=True))
        def check(body: dict[str, Any]) -> None:
            record = read_record(body)
            stored = record.to_body()
            # Everything drawn must be kept, unless it equals the default.
            for name, field in type(record).model_fields.items():
                if name in body and body[name] != field.get_default():
                    assert name in stored
            assert read_record(tomllib.loads(tomli_w.dumps(stored))) == record
            assert read_record(json.loads(json.dumps(stored, allow_nan=False))) == record

        check()

    @every_kind
    def test_stored_figures_do_not_hang_on_the_system_of_units(self, kind: str) -> None:
        @settings(FEW, max_examples=10)
        @given(bodies(kind), st.sampled_from(["inch", "metric"]))
        def check(body: dict[str, Any], system: str) -> None:
            stored = read_record(body).to_body()
            assert read_record(stored, system=system).to_body() == stored

        check()


class TestModels:
    @every_kind
    def test_cannot_be_changed(self, kind: str) -> None:
        for model in models_inside(KINDS[kind]):
            assert model.model_config["frozen"] is True, model
            assert model.model_config["extra"] == "forbid", model

    def test_changing_a_field_raises(self) -> None:
        record = read_record({"kind": "spring", "tag": "S1"})
        with pytest.raises(ValidationError, match="frozen"):
            record.tag = "S2"

    @every_kind
    def test_figures_are_in_the_glossary(self, kind: str) -> None:
        for model in models_inside(KINDS[kind]):
            for field in model.model_fields.values():
                for mark in field.metadata:
                    if isinstance(mark, In | InSeries):
                        assert mark.name in GLOSSARY

    @every_kind
    def test_lists_have_an_upper_bound(self, kind: str) -> None:
        for model in models_inside(KINDS[kind]):
            for name, field in model.model_fields.items():
                if "tuple[" in str(field.annotation):
                    bound = [getattr(item, "max_length", None) for item in field.metadata]
                    # Measured and Series hold theirs in the reader as well.
                    assert any(bound), f"{model.__name__}.{name}"

    @every_kind
    def test_names_itself(self, kind: str) -> None:
        model = KINDS[kind]
        assert model.kind == kind
        for word in (kind, model.plural, kind.upper(), model.plural.replace("_", "-")):
            assert kind_named(word) == kind
        assert model.title

    def test_kind_named_so_is_unknown(self) -> None:
        with pytest.raises(InputError, match="did you mean castings"):
            kind_named("castngs")
        with pytest.raises(InputError, match="kinds: shops, instruments"):
            kind_named("\x00" * 400)
        assert kind_named("blocks") == "short_block"
        assert kind_named("flow tests") == "flow_test"


def _bad_for(quantity: Quantity) -> st.SearchStrategy[Any]:
    """Draw what can never be a figure of ``quantity``."""
    width = quantity.high - quantity.low
    unit = quantity.si_unit
    return st.sampled_from(
        [
            "", "   ", "nan", "-inf m", "1e999", "one", "1,475.0", "1 parsec", "3 4 5 6", "\x00",
            "\ud800", "5 (guessed)", "9" * 500, "(" * 5000, " " * 100_000,
            float("nan"), float("inf"), float("-inf"), 10**5000, -(10**400), True, False,
            [], [1.0], b"1 in", 1j, object(), {}, {"value": None}, {"valu": 1}, {1: 2},
            {"value": quantity.high + width + 1.0, "unit": unit},
            {"value": quantity.low - width - 1.0, "unit": unit},
            {"value": quantity.high, "unit": unit, "uncertainty": -0.1},
            {"value": quantity.high, "unit": unit, "uncertainty": float("nan")},
            {"value": quantity.high, "unit": unit, "uncertainty": {"value": 1}},
            {"value": quantity.high, "unit": unit, "dof": 0.0},
            {"value": quantity.high, "unit": unit, "dof": True},
            {"value": quantity.high, "unit": unit, "provenance": "hearsay"},
            {"value": quantity.high, "unit": unit, "source": "x" * 401},
            {"value": quantity.high, "unit": unit, "source": "a\nb"},
            {"value": quantity.high, "unit": unit, "instrument": "no tag"},
            {"value": quantity.high, "unit": 7},
            {"value": quantity.high, "unit": "parsec"},
            {"readings": [quantity.high] * 201, "unit": unit},
            {"readings": [quantity.high, True], "unit": unit},
            {"readings": "24.1 cc"}, {"readings": {"a": 1}}, {"readings": []},
        ]
    )  # fmt: skip


def _nested(depth: int, sort: type[list[Any]] | type[dict[str, Any]]) -> Any:
    junk: Any = 1
    for _ in range(depth):
        junk = [junk] if sort is list else {"value": junk}
    return junk


class _Hostile:
    """An object that answers nothing."""

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        raise KeyError("no words")

    def __eq__(self, other: object) -> bool:
        raise KeyError("no comparing")


_SCALAR = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=20),
    st.text(st.characters(categories=("Cs", "Cc")), min_size=1, max_size=5),
    st.binary(max_size=8),
)
JUNK = st.one_of(
    st.recursive(
        _SCALAR,
        lambda inner: (
            st.lists(inner, max_size=4)
            | st.dictionaries(st.text(max_size=6) | st.integers(), inner, max_size=4)
        ),
        max_leaves=8,
    ),
    st.sampled_from([10**400, -(10**5000), "1e999", "x" * 100_000, "1 in " * 50_000, b"\xff" * 99]),
    st.sampled_from(["deep list", "deep table", "hostile", "long list", "wide table"]).map(
        lambda name: {
            "deep list": lambda: _nested(20_000, list),
            "deep table": lambda: _nested(20_000, dict),
            "hostile": _Hostile,
            "long list": lambda: [{}] * 20_000,
            "wide table": lambda: {f"key {number}": number for number in range(20_000)},
        }[name]()
    ),
)


MOST = 101  # problems listed: a hundred, and one that counts the rest


def read_or_refuse(body: Any, **context: Any) -> Record | RecordError:
    """Read a record; hand back the error whose text can be shown on any terminal."""
    try:
        return read_record(body, **context)
    except RecordError as error:
        refused = error
    str(refused).encode("utf-8")
    assert 0 < len(refused.problems) <= MOST
    for problem in refused.problems:
        assert problem.path
        assert problem.message
        assert str(problem).isprintable(), str(problem)
        assert len(str(problem)) < 1500
    return refused


@pytest.mark.prop
class TestBadInput:
    @MANY
    @given(st.data())
    def test_a_bad_figure_is_named_by_its_path(self, data: st.DataObject) -> None:
        kind = data.draw(st.sampled_from(list(KINDS)))
        body = data.draw(bodies(kind))
        spots = list(figure_paths(KINDS[kind], body, kind))
        if not spots:
            return
        holder, key, path, quantity = data.draw(st.sampled_from(spots))
        holder[key] = data.draw(_bad_for(quantity))
        refused = read_or_refuse(body)
        assert isinstance(refused, RecordError)
        assert any(
            problem.path == path or problem.path.startswith(f"{path}.")
            for problem in refused.problems
        ), (path, refused.problems)

    @MANY
    @given(st.data())
    def test_an_unknown_field_is_named_by_its_path(self, data: st.DataObject) -> None:
        kind = data.draw(st.sampled_from(list(KINDS)))
        body = data.draw(bodies(kind))
        tables = [body]
        tables += [holder for holder, key in places(body) if isinstance(holder, dict)]
        holder = data.draw(st.sampled_from(tables))
        holder["no_such_thing"] = 1
        refused = read_or_refuse(body)
        assert isinstance(refused, RecordError)
        assert any(
            problem.path.endswith(".no_such_thing") or "'no_such_thing'" in problem.message
            for problem in refused.problems
        ), refused.problems

    @MANY
    @given(st.data())
    def test_junk_anywhere_is_read_or_refused(self, data: st.DataObject) -> None:
        kind = data.draw(st.sampled_from(list(KINDS)))
        body = data.draw(bodies(kind))
        spots = st.sampled_from(list(places(body)))
        for holder, key in data.draw(st.lists(spots, min_size=1, max_size=3)):
            holder[key] = data.draw(JUNK)
        read_or_refuse(body, system=data.draw(st.sampled_from([None, "inch", "metric"])))

    @MANY
    @given(JUNK)
    def test_junk_instead_of_a_record(self, junk: Any) -> None:
        assert isinstance(read_or_refuse(junk), RecordError)
        assert isinstance(read_or_refuse({"kind": junk}), RecordError)

    @SOME
    @given(st.sampled_from(list(KINDS)), JUNK, JUNK)
    def test_junk_in_unknown_fields(self, kind: str, key: Any, junk: Any) -> None:
        name = key if isinstance(key, str | int | float | bytes | tuple | None) else "k"
        assert isinstance(
            read_or_refuse({"kind": kind, "tag": "a", name: junk, "tga": 1}), RecordError
        )

    @pytest.mark.parametrize("system", ["metrical", 5, ["inch"], b"inch"])
    def test_a_system_of_units_nobody_knows(self, system: Any) -> None:
        body = {"kind": "spring", "tag": "a", "free_length": "2 in"}
        refused = read_or_refuse(body, system=system)
        assert isinstance(refused, RecordError)
        assert "no system of units" in str(refused)

    @pytest.mark.parametrize(
        "text", [" " * 200_000, "(" * 200_000, "1" * 200_000, "1 (" * 60_000, "a (" + " " * 200_000]
    )
    @pytest.mark.timeout(60)
    def test_long_text_does_not_hang(self, text: str) -> None:
        # Backtracking over so long a text would take hours, not a moment.
        for name in ("free_length", "tag", "note", "wire"):
            assert isinstance(
                read_or_refuse({"kind": "spring", "tag": "a", name: text}), RecordError
            )

    def test_problems_are_cut_short(self) -> None:
        body = {"kind": "spring", "tag": "a"} | {f"key_{number}": 1 for number in range(250)}
        with pytest.raises(RecordError) as caught:
            read_record(body)
        assert len(caught.value.problems) == MOST
        assert str(caught.value.problems[-1]) == "spring: and 150 more problems"
