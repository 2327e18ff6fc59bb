"""How a body heats, cools, freezes and thaws: properties from composition, conduction, freezing.

Everything here is in SI units and degrees Celsius, in floats: W/(m K), kg/m³, J/(kg K), m, s. What
comes out is a prediction: a band with what it rests on. It is never a limit and never makes
anything pass.
"""
