"""Shapes and motions of the engine: SI numbers in, SI numbers out, no units and no records.

``crank_slider``   piston motion with pin offset
``balance``        rod ratio, harmonics of piston motion, shaking of a row of cylinders
``volumes``        swept, clearance and trapped volumes, compression, deck and squish
``chamber_cut``    chamber volume against the depth taken off the head face
``cut_target``     the cut that gives a compression ratio, with its uncertainty
``face``           plan view of the head face: bridges, walls, shrouded area
``outline``        area and length of an outline of points, and its part over the bore
``port``           port sections, volume along a port, smallest section
``monotone``       a smooth curve that does not turn back
``propagate``      standard uncertainty of any of these, first order or by sampling
``scalar``         the kinds of number the formulas accept, and their range checks
"""
