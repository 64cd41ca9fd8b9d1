"""Glossary entries of the short block, of whole-engine figures and of measuring."""

from __future__ import annotations

from typing import Final

from headwright.quantities.entry import (
    angle,
    area,
    length,
    mass,
    plain,
    quantity,
    share,
    speed,
    volume,
)
from headwright.quantities.quantity import Quantity

__all__ = ["ENGINE"]

ENGINE: Final[tuple[Quantity, ...]] = (
    length("bore", "B", 4, 3, 20, 200, "Cylinder bore"),
    length("stroke", "S", 4, 3, 15, 250, "Stroke, twice the crank radius"),
    length("rod_length", "l", 3, 2, 30, 500, "Connecting-rod length between centres"),
    length("block_height", "H_b", 3, 2, 50, 800, "Block face above the crankshaft's centreline"),
    length("bore_spacing", "a_b", 3, 2, 30, 300, "Distance between neighbouring bore centres"),
    length("pin_height", "h_pin", 3, 2, 5, 120, "Gudgeon-pin centre to piston crown edge"),
    length(
        "pin_offset", "e_pin", 3, 2, -15, 15, "Gudgeon-pin offset, positive towards the thrust side"
    ),
    volume(
        "crown_volume",
        "V_cr",
        2,
        2,
        -100,
        150,
        "What the crown adds to the clearance volume: dish plus, dome minus",
    ),
    length(
        "top_land_height",
        "h_tl",
        3,
        2,
        0,
        30,
        "Height of the piston's top land above the first ring",
    ),
    length(
        "top_land_clearance", "c_tl", 4, 3, 0, 3, "Radial clearance of the top land in the bore"
    ),
    mass("piston_mass", "m_p", 1, 1, 20, 5000, "Mass of a piston without its pin"),
    mass("pin_mass", "m_pin", 1, 1, 5, 1500, "Mass of a gudgeon pin"),
    length(
        "pocket_diameter", "D_pk", 3, 2, 10, 110, "Diameter of a valve pocket in the piston crown"
    ),
    length(
        "pocket_depth", "h_pk", 3, 2, -20, 25, "Depth of a valve pocket below the crown's edge"
    ),
    length("pocket_position", "x_pk", 3, 2, -100, 100, "Place of a pocket from the crown's middle"),
    area("rod_section", "A_r", 3, 1, 20, 4000, "Section of a connecting rod's shank"),
    length("bearing_clearance", "c_b", 4, 3, 0, 0.6, "Clearance of a bearing, in diameter"),
    length("rod_stretch", "d_l", 4, 3, 0, 5, "How far a piston rises beyond its place at rest"),
    length(
        "piston_below_deck",
        "h_bd",
        4,
        3,
        -10,
        30,
        "Piston crown edge below the block face at top dead centre",
    ),
    length(
        "piston_above_deck",
        "h_ad",
        4,
        3,
        0,
        10,
        "Piston crown edge above the block face at top dead centre",
    ),
    length("gasket_bore", "D_gk", 3, 2, 20, 220, "Inside diameter of the gasket's fire ring"),
    length("gasket_thickness", "t_gk", 4, 3, 0.05, 8, "Gasket thickness, as clamped"),
    volume(
        "gasket_volume", "V_gk", 2, 2, 0, 100, "Volume enclosed by the clamped gasket over one bore"
    ),
    length("journal_diameter", "d_j", 4, 3, 10, 150, "Diameter of a bearing journal"),
    length("journal_width", "w_j", 3, 2, 5, 100, "Width of a bearing"),
    length("thread_diameter", "d", 3, 2, 2, 40, "Nominal diameter of a thread"),
    length("thread_pitch", "P", 4, 2, 0.2, 6, "Pitch of a thread"),
    quantity(
        "preload",
        "F_i",
        "force",
        ("lbf", 0),
        ("kN", 2),
        100,
        500000,
        "Tension in a tightened stud or bolt",
    ),
    quantity(
        "tightening_torque",
        "T_t",
        "torque",
        ("lbf ft", 1),
        ("N m", 1),
        0.5,
        1000,
        "Torque a fastener is tightened to",
    ),
    mass("rod_end_mass", "m_r", 1, 1, 20, 5000, "Mass of one end of a connecting rod"),
    share(
        "balance_factor",
        "f_b",
        1,
        1,
        0,
        1,
        "Share of the reciprocating mass balanced by the crankshaft",
    ),
    length("deck_metal_spare", "t_bd", 3, 2, 0, 20, "Metal that may still come off the block face"),
    plain(
        "compression_ratio",
        "r_c",
        "ratio",
        2,
        1.5,
        30,
        "Ratio of the largest to the smallest cylinder volume",
    ),
    plain(
        "compression_spread",
        "d_rc",
        "number",
        2,
        0,
        10,
        "Difference in compression ratio between cylinders",
    ),
    volume("displacement", "V_d", 1, 1, 20, 20000, "Swept volume of the whole engine"),
    length(
        "squish_clearance",
        "h_sq",
        3,
        2,
        -5,
        20,
        "Gap between piston crown and head face at top dead centre",
    ),
    quantity(
        "mean_piston_speed",
        "S_p",
        "velocity",
        ("ft/min", 0),
        ("m/s", 2),
        0.1,
        60,
        "Twice the stroke times the revolutions in a time",
    ),
    plain(
        "inlet_mach_index",
        "Z",
        "number",
        3,
        0,
        5,
        "Mean gas speed through the intake valves over the speed of sound",
    ),
    speed("engine_speed", "N", 0, 0, 10, 30000, "Engine speed"),
    mass("mass", "m", 2, 2, 1, 500000, "Mass of a part"),
    length(
        "length_step", "d_l", 5, 4, 0, 10, "Step or expanded uncertainty of a length instrument"
    ),
    volume(
        "volume_step", "d_V", 3, 3, 0, 20, "Step or expanded uncertainty of a volume instrument"
    ),
    quantity(
        "force_step",
        "d_F",
        "force",
        ("lbf", 2),
        ("N", 2),
        0,
        1000,
        "Step or expanded uncertainty of a force instrument",
    ),
    quantity(
        "flow_step",
        "d_Q",
        "volume_flow",
        ("cfm", 2),
        ("l/s", 3),
        0,
        0.1,
        "Step or expanded uncertainty of a flow bench",
    ),
    quantity(
        "pressure_step",
        "d_p",
        "pressure",
        ("inH2O", 3),
        ("Pa", 1),
        0,
        100000,
        "Step or expanded uncertainty of a pressure gauge",
    ),
    mass("mass_step", "d_m", 3, 3, 0, 1000, "Step or expanded uncertainty of a balance"),
    angle("angle_step", "d_a", 3, 3, 0, 10, "Step or expanded uncertainty of an angle instrument"),
    length("work_dimension", "x_w", 4, 3, -500, 500, "Dimension a step of work is to reach"),
    quantity("working_time", "t_w", "time", ("h", 2), ("h", 2), 0, 3600000, "Working time"),
    plain("price", "c_p", "money", 2, 0, 10000000.0, "Price in the shop's currency"),
)
