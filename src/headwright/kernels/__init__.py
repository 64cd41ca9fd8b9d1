"""Compiled loops over plain arrays: the gas dynamics of ducts, ends, joints and vessels.

The equations, for a duct of cross-section A(x), density rho, velocity u, pressure p, total
energy E = rho e + rho u^2 / 2 and mass fractions Y of burned gas and fuel vapour:

    d(rho A)/dt   + d(rho u A)/dx           = 0
    d(rho u A)/dt + d((rho u^2 + p) A)/dx   = p dA/dx - rho A (f / (2 D) + K') u |u|
    d(E A)/dt     + d(u (E + p) A)/dx       = A q
    d(rho Y A)/dt + d(rho u Y A)/dx         = 0

with Darcy's friction factor f, bend loss per length K' and wall heat q per volume. Status codes
come out, never exceptions. :mod:`headwright.kernels.layout` says where everything lies.
"""
