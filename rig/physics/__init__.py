"""Water, air, hulls, flotation, stability and tub: pure functions, no I/O.

Millimetres, grams, millilitres, degrees Celsius. 1 ml = 1000 mm^3.
"""
