"""Exact solutions of gas dynamics, and the tests that hold the duct solver to them.

The modules without a ``test_`` prefix are oracles: closed forms or root findings that share no
code with the solver. ``test_oracles_*.py`` hold the oracles themselves to published figures and
to independent libraries, so that a test of the solver is never a test of one formula against a
copy of itself.
"""
