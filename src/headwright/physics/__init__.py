"""Cited relations of engine physics: SI in, SI out, one theme to a file, no state.

Import the theme you need, as in ``from headwright.physics import orifice``.
"""
