"""Glossary entries of the casting: chambers, valves, seats, guides, ports."""

from __future__ import annotations

from typing import Final

from headwright.quantities.entry import angle, area, length, plain, quantity, share, volume
from headwright.quantities.quantity import Quantity

__all__ = ["HEAD"]

HEAD: Final[tuple[Quantity, ...]] = (
    length(
        "face_position",
        "x",
        3,
        2,
        -2000,
        2000,
        "Position in the head face, along or across the crankshaft",
    ),
    volume(
        "chamber_volume",
        "V_ch",
        2,
        2,
        0.5,
        300,
        "Volume of a combustion chamber below the head face",
    ),
    length("depth_of_cut", "c", 3, 2, 0, 12, "Metal taken off a face, square to it"),
    area(
        "chamber_face_area",
        "A_ch",
        3,
        1,
        100,
        20000,
        "Area of a chamber's opening in the head face",
    ),
    length("chamber_depth", "h_ch", 3, 2, 0, 80, "Greatest depth of a chamber below the head face"),
    length("plug_thread_diameter", "d_pl", 3, 2, 8, 25, "Thread diameter of the sparking plug"),
    length("plug_reach", "l_pl", 3, 2, 5, 40, "Threaded reach of the sparking plug"),
    length(
        "plug_electrode_depth", "h_el", 3, 2, -10, 60, "Depth of the spark gap below the head face"
    ),
    angle(
        "valve_tilt",
        "gamma_v",
        2,
        2,
        0,
        45,
        "Angle of the valve's axis from square to the head face",
    ),
    angle(
        "tilt_direction",
        "delta_v",
        1,
        1,
        -180,
        360,
        "Way a valve leans in the head face, from the crankshaft's direction",
    ),
    length("valve_to_piston", "e_vp", 3, 2, -40, 80, "Travel left from a valve to the piston"),
    length(
        "valve_to_pocket", "e_vk", 3, 2, -80, 60, "Room from a valve's rim to its pocket's wall"
    ),
    length("valve_to_valve", "e_vv", 3, 2, -60, 120, "Gap between the two valves of a cylinder"),
    length("valve_head_diameter", "D_v", 3, 2, 10, 90, "Outside diameter of a valve's head"),
    length("insert_diameter", "D_ins", 3, 2, 10, 100, "Outside diameter of a valve-seat insert"),
    length("insert_depth", "h_ins", 3, 2, 1, 25, "Depth of a valve-seat insert"),
    length("seat_width", "w", 4, 3, 0.2, 6, "Width of the seat in contact, along its face"),
    angle(
        "seat_angle", "beta", 1, 1, 10, 80, "Angle of a seat face from the plane of the valve head"
    ),
    length("seat_depth", "s_v", 3, 2, -5, 20, "How far the valve's seat lies below the head face"),
    length("throat_diameter", "D_th", 3, 2, 8, 85, "Diameter of the port just under the seat"),
    length("guide_bore", "d_g", 4, 3, 3, 15, "Bore of the valve guide"),
    length("guide_length", "l_g", 3, 2, 10, 120, "Length of the valve guide"),
    length("guide_height", "h_g", 3, 2, -10, 60, "Top of the valve guide above the spring seat"),
    length(
        "guide_offset",
        "e_g",
        3,
        2,
        -5,
        5,
        "Offset of the valve axis from the casting's own guide hole",
    ),
    length("stem_diameter", "d_s", 4, 3, 3, 15, "Diameter of a valve stem"),
    length("valve_length", "L_v", 3, 2, 40, 250, "Overall length of a valve"),
    length(
        "spring_installed_height",
        "h_1",
        3,
        2,
        10,
        100,
        "Height of the valve spring with the valve shut",
    ),
    length("stem_height", "h_t", 3, 2, 10, 120, "Valve tip above the spring seat"),
    length(
        "spring_seat_diameter", "D_ss", 3, 2, 10, 80, "Diameter of the spring seat in the casting"
    ),
    length(
        "port_distance", "s", 2, 1, 0, 500, "Distance along a port's centreline from the flange"
    ),
    area("port_area", "A_p", 3, 1, 20, 10000, "Area of a port's section"),
    length("port_width", "b_p", 3, 2, 3, 200, "Width of a port's section"),
    length("port_height", "h_p", 3, 2, 3, 200, "Height of a port's section"),
    length("port_corner_radius", "r_p", 3, 2, 0, 100, "Corner radius of a port's section"),
    length("wall_thickness", "t", 3, 2, 0, 60, "Thickness of metal between two surfaces"),
    volume("port_volume", "V_p", 1, 1, 1, 2000, "Volume of a port from flange to valve seat"),
    length("port_length", "l_p", 2, 1, 5, 500, "Length of a port or passage along its centreline"),
    length("port_turn_radius", "R_p", 2, 1, 1, 300, "Radius of the port's turn, to its centreline"),
    length("hole_diameter", "d_h", 3, 2, 1, 80, "Diameter of a hole or passage"),
    length(
        "lip_height",
        "h_l",
        3,
        2,
        -50,
        150,
        "Height of a drain's lip above the rocker chamber's floor",
    ),
    length("damage_size", "l_d", 2, 1, 0, 500, "Length or width of a damaged place"),
    length("damage_depth", "h_d", 3, 2, 0, 80, "Depth of a damaged place"),
    length(
        "casting_thickness",
        "T_h",
        3,
        2,
        10,
        300,
        "Thickness of the casting from head face to cover face",
    ),
    length(
        "bridge", "b_br", 3, 2, -30, 60, "Metal between two neighbouring seats, inserts or valves"
    ),
    length(
        "valve_to_bore",
        "e_vb",
        3,
        2,
        -40,
        60,
        "Gap between a valve or insert and the cylinder wall",
    ),
    volume("relief_volume", "V_rel", 2, 2, 0, 100, "Volume of metal cut away from a chamber"),
    length("metal_between", "t_m", 3, 2, -60, 300, "Metal between two features of the head face"),
    length("centre_shift", "e_c", 3, 2, 0, 10, "How far a valve's centre is moved"),
    share(
        "shrouded_share", "s_c", 1, 1, 0, 1, "Share of a valve's curtain the walls beside it close"
    ),
    share("shrouded_arc", "s_a", 0, 0, 0, 1, "Share of the way round a valve that is shrouded"),
    area("curtain_area", "A_c", 3, 1, 0, 10000, "Area of the curtain between a valve and its seat"),
    length("fire_ring_width", "w_fr", 3, 2, 0.5, 20, "Width of the gasket's fire ring"),
    length(
        "fire_ring_land",
        "e_fr",
        3,
        2,
        -60,
        60,
        "From a chamber's or insert's edge to the gasket's bore; minus where it reaches beyond",
    ),
    area("hollow_area", "A_ho", 3, 1, 0, 20000, "Area of a chamber outside the gasket's bore"),
    length(
        "plug_boss_length",
        "l_bo",
        3,
        2,
        2,
        45,
        "From the plug's seat on the casting to the chamber's surface, along the plug",
    ),
    length(
        "plug_thread_out",
        "e_pl",
        3,
        2,
        -40,
        40,
        "How far a plug's thread stands out into the chamber; minus where it stops short",
    ),
    share("plug_hidden", "s_pl", 0, 0, 0, 1, "Share of the space before the gap the boss hides"),
    length("flame_path", "l_f", 2, 1, 0, 400, "Longest straight run of the flame from the plug"),
    length("port_perimeter", "P_p", 2, 1, 10, 800, "Length round a port's section"),
    quantity(
        "port_speed",
        "v_p",
        "velocity",
        ("ft/s", 0),
        ("m/s", 1),
        0,
        1000,
        "Mean gas speed through a port's section over the stroke",
    ),
    plain("port_mach", "M_p", "number", 3, 0, 3, "Mean gas speed over the speed of sound"),
    angle("port_taper", "alpha_p", 1, 1, -89, 89, "Half angle at which a port widens to the valve"),
    plain("turn_ratio", "R_p/D", "number", 2, 0, 50, "Radius of a port's turn over its diameter"),
    plain("volume_ratio", "V/V_0", "number", 3, 0, 20, "One volume over another"),
    length(
        "pushrod_clearance",
        "e_pr",
        3,
        2,
        -30,
        30,
        "Least gap between a pushrod and its passage through the rocker's motion",
    ),
)
