"""Bolted joints: stiffness, preload, torque, separation.

Sources: R. G. Budynas and J. K. Nisbett, *Shigley's Mechanical Engineering Design*, ch. 8; torque
from friction after VDI 2230 part 1 (both from memory; worked examples recomputed).

Preload from torque scatters by 25 to 30 % (common practice): where a joint matters, measure
stretch or use torque and angle.
"""

from __future__ import annotations

import math

import numpy as np

from headwright.physics.arrays import Value

__all__ = [
    "bolt_stiffness",
    "joint_constant",
    "load_factor",
    "member_stiffness",
    "preload_from_torque",
    "proof_preload",
    "separation_factor",
    "tightening_torque",
    "tightening_torque_friction",
]


def bolt_stiffness(
    diameter: Value,
    tensile_area: Value,
    shank_length: Value,
    thread_length: Value,
    modulus: Value,
) -> Value:
    """Stiffness of a bolt in its grip [N/m]: ``A_d A_t E / (A_d l_t + A_t l_d)``.

    Args:
        diameter: of the shank [m].
        tensile_area: of the thread [m2].
        shank_length: unthreaded length in the grip [m].
        thread_length: threaded length in the grip [m].
        modulus: of elasticity [Pa].
    """
    shank = math.pi / 4.0 * diameter**2
    return shank * tensile_area * modulus / (shank * thread_length + tensile_area * shank_length)


def member_stiffness(diameter: Value, grip: Value, modulus: Value) -> Value:
    """Stiffness of the clamped parts, 30 degree cones, one material [N/m].

    ``0.5774 pi E d / (2 ln(5 (0.5774 l + 0.5 d) / (0.5774 l + 2.5 d)))``, washer face 1.5 d

    Args:
        diameter: of the bolt [m].
        grip: length clamped [m].
        modulus: of the parts [Pa].
    """
    ratio = 5.0 * (0.5774 * grip + 0.5 * diameter) / (0.5774 * grip + 2.5 * diameter)
    stiffness: Value = 0.5774 * math.pi * modulus * diameter / (2.0 * np.log(ratio))
    return stiffness


def joint_constant(bolt: Value, members: Value) -> Value:
    """Share of an outside load that the bolt feels [-]: ``k_b / (k_b + k_m)``.

    Args:
        bolt: stiffness [N/m].
        members: stiffness of the clamped parts [N/m].
    """
    return bolt / (bolt + members)


def proof_preload(tensile_area: Value, proof_strength: Value, share: Value = 0.75) -> Value:
    """Preload at a share of proof load [N]: ``share A_t S_p``; 0.75 for joints to be reopened.

    Args:
        tensile_area: [m2].
        proof_strength: [Pa].
        share: [-].
    """
    return share * tensile_area * proof_strength


def load_factor(
    tensile_area: Value,
    proof_strength: Value,
    preload: Value,
    joint: Value,
    load_per_bolt: Value,
) -> Value:
    """Factor on the load at which a bolt reaches proof strength [-].

    ``(S_p A_t - F_i) / (C P)``

    Args:
        tensile_area: [m2].
        proof_strength: [Pa].
        preload: [N].
        joint: C from :func:`joint_constant` [-].
        load_per_bolt: P [N].
    """
    return (proof_strength * tensile_area - preload) / (joint * load_per_bolt)


def separation_factor(preload: Value, joint: Value, load_per_bolt: Value) -> Value:
    """Factor on the load at which the joint opens [-]: ``F_i / (P (1 - C))``.

    Args:
        preload: [N].
        joint: C [-].
        load_per_bolt: P [N].
    """
    return preload / (load_per_bolt * (1.0 - joint))


def tightening_torque(preload: Value, diameter: Value, factor: Value = 0.2) -> Value:
    """Torque for a preload by the nut factor [N m]: ``K F d``.

    Args:
        preload: [N].
        diameter: nominal [m].
        factor: K [-]; about 0.2 dry, 0.15 oiled, 0.11 to 0.13 with moly grease.

    >>> round(tightening_torque(36105.0, 0.010), 2)
    72.21
    """
    return factor * preload * diameter


def preload_from_torque(torque: Value, diameter: Value, factor: Value = 0.2) -> Value:
    """Preload a torque gives by the nut factor [N]: ``T / (K d)``.

    Args:
        torque: [N m].
        diameter: nominal [m].
        factor: K [-].
    """
    return torque / (factor * diameter)


def tightening_torque_friction(
    preload: Value,
    pitch: Value,
    pitch_diameter: Value,
    head_diameter: Value,
    thread_friction: Value,
    head_friction: Value,
) -> Value:
    """Torque for a preload from both frictions [N m], 60 degree threads.

    ``F (P / (2 pi) + 0.577 mu_t d_2 + mu_h D_m / 2)``

    Args:
        preload: [N].
        pitch: of the thread [m].
        pitch_diameter: d_2 [m].
        head_diameter: D_m, mean diameter of the bearing face [m].
        thread_friction: mu_t [-].
        head_friction: mu_h [-].
    """
    return preload * (
        pitch / (2.0 * math.pi)
        + thread_friction * pitch_diameter / math.sqrt(3.0)
        + 0.5 * head_friction * head_diameter
    )
