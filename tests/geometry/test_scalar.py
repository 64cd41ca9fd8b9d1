"""Range checks say what is wrong, for each kind of number."""

import math

import numpy as np
import pytest
from uncertainties import ufloat

from headwright.errors import QuantityError
from headwright.geometry.scalar import (
    best_estimate,
    plain,
    require_finite,
    require_not_negative,
    require_positive,
)


@pytest.mark.parametrize("value", [1.0, np.array([1.0, 2.0]), ufloat(1.0, 0.1), 3])
def test_good_values_pass(value: object) -> None:
    require_positive("bore", value, "m")
    require_not_negative("bore", value, "m")
    require_finite("bore", value, "m")


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (-1.5, "bore: is -1.5 m; must be"),
        (math.nan, "bore: is nan m"),
        (math.inf, "bore: is inf m"),
        (np.array([1.0, -2.0, -3.0]), "bore: is -2 m (element 1 of 3)"),
        (np.array([[1.0], [math.nan]]), "bore: is nan m (element 1 of 2)"),
        (np.array(-4.0), "bore: is -4 m"),
    ],
)
def test_bad_values_are_named(value: object, shown: str) -> None:
    with pytest.raises(QuantityError) as caught:
        require_positive("bore", value, "m")
    assert shown in str(caught.value)
    assert caught.value.field == "bore"


def test_uncertain_value_is_judged_by_its_best_estimate() -> None:
    require_positive("bore", ufloat(0.1, 5.0), "m")
    with pytest.raises(QuantityError, match="bore"):
        require_positive("bore", ufloat(-0.1, 5.0), "m")
    assert best_estimate(ufloat(2.0, 0.1)) == 2.0
    assert best_estimate(2.0) == 2.0


def test_zero() -> None:
    require_not_negative("gap", 0.0, "m")
    with pytest.raises(QuantityError, match="greater than 0 m and finite"):
        require_positive("gap", 0.0, "m")
    with pytest.raises(QuantityError, match="0 m or more and finite"):
        require_not_negative("gap", -1e-9, "m")


def test_plain_gives_floats() -> None:
    assert type(plain(np.float64(1.5))) is float
    assert type(plain(np.array(1.5))) is float
    array = np.array([1.5])
    assert plain(array) is array
