"""Curves drawn as letters."""

from __future__ import annotations

from headwright.cli.text_plot import PLOT_WIDTH, across_line, plot_rows


def test_a_straight_line_is_straight() -> None:
    rows = plot_rows([0.0, 1.0], [("s", [0.0, 1.0], 1.0)], 10)
    assert [share for share, _ in rows] == [1.0 - n / 9 for n in range(10)]
    for share, row in rows:
        where = [n / (PLOT_WIDTH - 1) for n, cell in enumerate(row[1:-1]) if cell == "s"]
        assert where
        assert all(abs(place - share) <= 0.5 / 9 + 1e-12 for place in where)


def test_what_meets_is_a_star_and_a_mark_gives_way() -> None:
    rows = plot_rows([0.0, 2.0], [("a", [1, 1], 1.0), ("b", [1, 1], 1.0)], 5, mark=1.0)
    assert rows[0][1] == f"|{'*' * PLOT_WIDTH}|"
    assert [row.count(":") for _, row in rows] == [0, 1, 1, 1, 1]
    (top, *_), beyond = plot_rows([0.0, 2.0], [("a", [1, 1], 1.0)], 5), 9.0
    assert top == plot_rows([0.0, 2.0], [("a", [1, 1], 1.0)], 5, mark=beyond)[0]


def test_below_nought_lies_on_the_floor_and_nothing_has_no_height() -> None:
    rows = plot_rows([0.0, 1.0], [("a", [-5.0, -1.0], 2.0), ("z", [0.0, 0.0], 0.0)], 4)
    assert rows[-1][1] == f"|{'*' * PLOT_WIDTH}|"


def test_ends_are_named_under_the_plot() -> None:
    line = across_line([1000.0, 6500.0], 9, "rpm")
    assert line.split() == ["1000", "6500", "rpm"]
    assert len(line) == 9 + PLOT_WIDTH
